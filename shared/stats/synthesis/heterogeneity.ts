import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';
import { studentQuantile } from '../student-t.ts';

/** How large something was in one of several sittings, in any unit, and how surely. */
export interface Effect {
  effect: number;
  /** Above 0. */
  standardError: number;
}

export interface Heterogeneity extends MethodFacts {
  /** Cochran's Q, from 0; chance alone leads to about `df`. */
  q: number;
  /** Sittings less one. */
  df: number;
  /** Share of the variation between sittings that is more than chance, 0 to 1, with its interval; null below three. */
  iSquared: { estimate: number; lower: number; upper: number; level: number } | null;
  /** Variance between sittings, in the squared unit; null below three. */
  tauSquared: number | null;
  /** Mean over sittings that differ, with its interval; null below three: two do not say how sittings vary. */
  pooled: { effect: number; standardError: number; lower: number; upper: number; level: number } | null;
}

/** Fewest sittings that are pooled. */
export const MIN_POOLED = 3;

/**
 * How much several sittings vary beyond chance, and from three on their mean. Q and I2 with weights 1 / SE2, tau2 by moments, the mean
 * by weights 1 / (SE2 + tau2) with Student's t of k - 1 and a variance that is never below that of the weights themselves.
 * The interval of I2 is that of H by its test; H is not taken below 1, so that few alike sittings are not said to be surely
 * alike. Errors: StatsInputError for fewer than two, or an SE that is not above 0.
 * Source: Cochran 1954, Biometrics 10:101; Higgins & Thompson 2002, Stat. Med. 21:1539 (I2 and its interval); DerSimonian & Laird
 * 1986, Control. Clin. Trials 7:177; Hartung & Knapp 2001, Stat. Med. 20:3875, with the bound of Roever, Knapp & Friede 2015,
 * BMC Med. Res. Methodol. 15:99; all from memory.
 * Example: `heterogeneity({ effects: [{ effect: 1.2, standardError: 0.5 }, { effect: 0.4, standardError: 0.45 }, { effect: 0.9, standardError: 0.6 }, { effect: 2.1, standardError: 0.4 }], level: 0.95 }).q` is 8.43362156178
 */
export function heterogeneity({
  effects,
  level,
}: {
  effects: readonly Effect[];
  level: number;
}): Heterogeneity {
  if (effects.length < 2) throw new StatsInputError('effects', effects.length, 'two sittings or more');
  effects.forEach(({ effect, standardError }, at) => {
    if (!Number.isFinite(effect))
      throw new StatsInputError(`effects[${at}].effect`, effect, 'a finite number');
    if (!(standardError > 0 && Number.isFinite(standardError))) {
      throw new StatsInputError(`effects[${at}].standardError`, standardError, 'above 0');
    }
  });
  const df = effects.length - 1;
  const fixed = weighted(effects, 0);
  const q = fixed.squares;
  const facts = {
    method: 'Heterogeneity over sittings',
    assumption:
      'Every sitting has people of its own; each figure varies normally about what holds on that evening, and evenings about their mean.',
    source: 'Cochran 1954; Higgins & Thompson 2002; DerSimonian & Laird 1986; Hartung & Knapp 2001',
  };
  if (effects.length < MIN_POOLED) return { q, df, iSquared: null, tauSquared: null, pooled: null, ...facts };
  const { sum, sumOfSquares } = fixed;
  const tauSquared = Math.max(0, (q - df) / (sum - sumOfSquares / sum));
  const random = weighted(effects, tauSquared);
  const standardError = Math.sqrt(Math.max(1, random.squares / df) / random.sum);
  const reach = studentQuantile((1 + level) / 2, df) * standardError;
  return {
    q,
    df,
    iSquared: { ...iSquaredOf(q, effects.length, level), level },
    tauSquared,
    pooled: {
      effect: random.mean,
      standardError,
      lower: random.mean - reach,
      upper: random.mean + reach,
      level,
    },
    ...facts,
  };
}

function weighted(
  effects: readonly Effect[],
  between: number,
): { mean: number; squares: number; sum: number; sumOfSquares: number } {
  const weights = effects.map(({ standardError }) => 1 / (standardError ** 2 + between));
  const sum = weights.reduce((a, b) => a + b, 0);
  const mean = effects.reduce((total, { effect }, at) => total + effect * (weights[at] ?? 0), 0) / sum;
  return {
    mean,
    sum,
    sumOfSquares: weights.reduce((a, b) => a + b * b, 0),
    squares: effects.reduce((total, { effect }, at) => total + (weights[at] ?? 0) * (effect - mean) ** 2, 0),
  };
}

/** By the test of H = sqrt(Q / df). */
function iSquaredOf(q: number, k: number, level: number): { estimate: number; lower: number; upper: number } {
  const logH = Math.log(Math.max(1, Math.sqrt(q / (k - 1))));
  const error =
    q > k
      ? (0.5 * (Math.log(q) - Math.log(k - 1))) / (Math.sqrt(2 * q) - Math.sqrt(2 * k - 3))
      : Math.sqrt((1 / (2 * (k - 2))) * (1 - 1 / (3 * (k - 2) ** 2)));
  const z = normalQuantile((1 + level) / 2);
  const share = (log: number): number => Math.max(0, 1 - Math.exp(-2 * log));
  return { estimate: share(logH), lower: share(logH - z * error), upper: share(logH + z * error) };
}

/**
 * Standard errors of shares that were counted, by the share over all of them: the Q of `heterogeneity` is then Pearson's
 * chi-square of equal shares, and nobody's weight follows from what was found. Null where nobody or everybody was counted
 * over all. n from 1, counted 0..n. Source: Pearson 1900 (from memory).
 * Example: `sharesOf([{ counted: 20, n: 30 }, { counted: 12, n: 30 }])?.[0]?.standardError` is 0.0910840068085298
 */
export function sharesOf(counts: readonly { counted: number; n: number }[]): Effect[] | null {
  const all = counts.reduce((sum, { n }) => sum + n, 0);
  const share = counts.reduce((sum, { counted }) => sum + counted, 0) / all;
  if (!(share > 0 && share < 1)) return null;
  return counts.map(({ counted, n }) => ({
    effect: counted / n,
    standardError: Math.sqrt((share * (1 - share)) / n),
  }));
}
