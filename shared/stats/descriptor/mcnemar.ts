import { binomialPmf, upperTail } from '../binomial.ts';
import { answerCount } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';

export interface McNemarTest extends MethodFacts {
  p: number;
  /** p less half the chance of outcomes as extreme as the one seen: closer to its level, no longer sure to stay below it. */
  midP: number;
  /** onlyFirst + onlySecond, the assessors who tell the samples apart. */
  discordant: number;
  onlyFirst: number;
  onlySecond: number;
}

/**
 * Was a descriptor chosen more often for one of two samples, by the same assessors?
 * p = min(1, 2 P(X >= max(b, c))), X ~ Binomial(b + c, 1/2); b chose it for the first sample only, c for the second only.
 * Who chose it for both or neither says nothing. Two-sided. Not for different people tasting the two samples.
 * Counts whole from 0; b + c = 0 gives 1. Exact to 1e-12. Errors: StatsInputError.
 * Source: McNemar 1947, Psychometrika 12:153; mid-p: Fagerland, Lydersen & Laake 2013,
 * BMC Med. Res. Methodol. 13:91 (from memory).
 * Example: `mcnemarExact({ onlyFirst: 1, onlySecond: 7 }).p` is 0.0703125
 */
export function mcnemarExact({
  onlyFirst,
  onlySecond,
}: {
  onlyFirst: number;
  onlySecond: number;
}): McNemarTest {
  answerCount('onlyFirst', onlyFirst);
  answerCount('onlySecond', onlySecond);
  const discordant = answerCount('onlyFirst + onlySecond', onlyFirst + onlySecond);
  const more = Math.max(onlyFirst, onlySecond);
  const p = discordant === 0 ? 1 : Math.min(1, 2 * upperTail(more, discordant, 0.5));
  // Outcomes as extreme as the one seen: two of them, or one when b = c; half of their chance goes.
  const asExtreme = binomialPmf(more, discordant, 0.5) * (onlyFirst === onlySecond ? 1 : 2);
  return {
    p,
    midP: discordant === 0 ? 1 : p - asExtreme / 2,
    discordant,
    onlyFirst,
    onlySecond,
    method: 'Exact McNemar test, two-sided',
    assumption: 'Each assessor tasted both samples; assessors are independent of each other.',
    source: 'McNemar 1947',
  };
}
