import { integerIn, MAX_ANSWERS, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalPdf, normalQuantile } from '../normal.ts';
import { fisherExact, type TestSide } from './fisher-exact.ts';

export interface ANotA extends MethodFacts {
  /** z(H) - z(F): negative when "A" is said more often to not-A. Null without answers to one of the samples. */
  dPrime: number | null;
  standardError: number | null;
  /** d' -+ z SE, for display beside d'. Null with dPrime. */
  lower: number | null;
  upper: number | null;
  level: number;
  /** Criterion c = -(z(H) + z(F)) / 2: above 0 a panel that says "A" seldom. Null with dPrime. */
  criterion: number | null;
  /** Rates d' was computed from: the corrected ones where `corrected` says so. Null with dPrime. */
  hitRate: number | null;
  falseAlarmRate: number | null;
  /** A rate was 0 or 1, so 0.5 was added to both counts of "A" and 1 to both totals; say so beside d'. */
  corrected: boolean;
  /** Fisher's exact p of the association between sample and answer, from the counts as they are. */
  p: number;
  side: TestSide;
}

/**
 * A / not-A, each assessor judging one sample: sensitivity apart from the readiness to say "A".
 * H = P("A" | A), F = P("A" | not A); d' = z(H) - z(F);
 * SE^2 = H (1 - H) / (n1 phi(z(H))^2) + F (1 - F) / (n2 phi(z(F))^2).
 * Where H or F is 0 or 1: log-linear correction of both, (count + 0.5) / (total + 1), and these totals in the SE.
 * Not for the share of right answers, which mixes sensitivity and bias; not for assessors who judged both samples
 * (aNotAPaired). Assumes normal percepts of equal spread and one criterion for the whole panel; the SE and limits are
 * large-sample ones, rough below some 30 answers a sample (the p is exact at any number).
 *
 * Counts whole, hits 0..nA, falseAlarms 0..nNotA; level between 0 and 1; side as planned. Errors: StatsInputError.
 * Source: Green & Swets 1966 (d'); Gourevitch & Galanter 1967, Psychometrika 32:25 (SE); Hautus 1995, Behav. Res.
 * Methods 27:46 (correction, from memory); ISO 8588.
 * Example: `aNotA({ hits: 60, nA: 100, falseAlarms: 35, nNotA: 100, level: 0.95, side: 'greater' }).dPrime` is 0.638667569543
 */
export function aNotA({
  hits,
  nA,
  falseAlarms,
  nNotA,
  level,
  side,
}: {
  hits: number;
  nA: number;
  falseAlarms: number;
  nNotA: number;
  level: number;
  side: TestSide;
}): ANotA {
  integerIn('nA', nA, 0, MAX_ANSWERS);
  integerIn('hits', hits, 0, nA);
  integerIn('nNotA', nNotA, 0, MAX_ANSWERS);
  integerIn('falseAlarms', falseAlarms, 0, nNotA);
  properProbability('level', level);
  const { p } = fisherExact({ first: { yes: hits, n: nA }, second: { yes: falseAlarms, n: nNotA }, side });
  return {
    ...sensitivity({ hits, nA, falseAlarms, nNotA, level }),
    level,
    p,
    side,
    method: `A / not-A: d-prime with its criterion, ${side === 'greater' ? 'one-sided' : 'two-sided'} Fisher exact test`,
    assumption:
      'Every assessor judges one sample; percepts vary normally with equal spread, and the panel shares one criterion.',
    source: 'Green & Swets 1966; Gourevitch & Galanter 1967; ISO 8588',
  };
}

function sensitivity({
  hits,
  nA,
  falseAlarms,
  nNotA,
  level,
}: {
  hits: number;
  nA: number;
  falseAlarms: number;
  nNotA: number;
  level: number;
}): Omit<ANotA, keyof MethodFacts | 'p' | 'side' | 'level'> {
  if (nA === 0 || nNotA === 0) {
    const none = { dPrime: null, standardError: null, lower: null, upper: null, criterion: null };
    return { ...none, hitRate: null, falseAlarmRate: null, corrected: false };
  }
  const corrected = hits === 0 || hits === nA || falseAlarms === 0 || falseAlarms === nNotA;
  const [count, total] = corrected ? [0.5, 1] : [0, 0];
  const hitRate = (hits + count) / (nA + total);
  const falseAlarmRate = (falseAlarms + count) / (nNotA + total);
  const zHit = normalQuantile(hitRate);
  const zFalse = normalQuantile(falseAlarmRate);
  const part = (rate: number, z: number, n: number) => (rate * (1 - rate)) / (n * normalPdf(z) ** 2);
  const standardError = Math.sqrt(
    part(hitRate, zHit, nA + total) + part(falseAlarmRate, zFalse, nNotA + total),
  );
  const dPrime = zHit - zFalse;
  const reach = normalQuantile((1 + level) / 2) * standardError;
  return {
    dPrime,
    standardError,
    lower: dPrime - reach,
    upper: dPrime + reach,
    criterion: -(zHit + zFalse) / 2,
    hitRate,
    falseAlarmRate,
    corrected,
  };
}
