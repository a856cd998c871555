import { upperTail } from '../binomial.ts';
import { answerCount } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import type { TestSide } from './fisher-exact.ts';
import { twoSidedP } from './preference.ts';

export interface ANotAPaired extends MethodFacts {
  p: number;
  side: TestSide;
  /** Assessors who told the samples apart, in either direction: only they count. */
  discordant: number;
}

/**
 * A / not-A when every assessor judged both samples once: exact McNemar test of the association.
 * Assessors who gave both samples the same name say nothing; among the others, `right` called A "A" and not-A "not A",
 * `reversed` the other way round. greater: P(X >= right | right + reversed, 1/2); two-sided: twice the larger tail.
 * For d' take the rates over all answers in aNotA; its SE, made for independent answers, then errs (mostly upwards,
 * answers of one palate being alike), and its Fisher p must not be used. Not for more than one pair per assessor.
 * Counts whole from 0. Nobody told them apart: p = 1. Errors: StatsInputError.
 * Source: McNemar 1947, Psychometrika 12:153; ISO 8588.
 * Example: `aNotAPaired({ right: 10, reversed: 2, side: 'two-sided' }).p` is 0.03857421875
 */
export function aNotAPaired({
  right,
  reversed,
  side,
}: {
  right: number;
  reversed: number;
  side: TestSide;
}): ANotAPaired {
  answerCount('right', right);
  answerCount('reversed', reversed);
  const discordant = answerCount('right + reversed', right + reversed);
  return {
    p: side === 'greater' ? upperTail(right, discordant, 0.5) : twoSidedP({ count: right, n: discordant }),
    side,
    discordant,
    method: `Exact McNemar test, ${side === 'greater' ? 'one-sided' : 'two-sided'}`,
    assumption: 'Every assessor judges both samples once, and assessors are independent of each other.',
    source: 'McNemar 1947; ISO 8588',
  };
}
