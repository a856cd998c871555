import { StatsInputError } from '../../ground/input.ts';
import { chiSquareUpper } from '../chi-square.ts';
import type { MethodFacts } from '../method.ts';
import { integerIn, MAX_ANSWERS } from '../../ground/input.ts';

export interface EqualShares extends MethodFacts {
  /** By the route named; 1 where nothing can differ: fewer than two groups with answers, or all answers alike. */
  p: number;
  route: 'exact' | 'chi-square';
  /** Pearson's chi-square of the table and its degrees of freedom, for hand comparison; null where nothing can differ. */
  chiSquare: number | null;
  df: number;
}

/** Tables gone through at most for the exact p. Our own bound: some tenths of a second. */
const MAX_TABLES = 200_000;
/** Tables as probable as the one seen differ from it by rounding only, and count. */
const TIE = 1 + 1e-7;

/**
 * Is the share of "yes" the same in all of several groups of people? Given all margins a table is as probable as the
 * product of C(n_i, y_i) over C(N, Y) (multivariate hypergeometric), whatever the common share is; p is the chance of all
 * tables no more probable than the one seen. With too many tables to go through: Pearson's chi-square with k - 1 degrees of
 * freedom, by its distribution for large groups.
 * One answer of each person. yes whole from 0 to n, n whole from 0; groups without answers are left out. Errors: StatsInputError.
 * Source: Freeman & Halton 1951, Biometrika 38:141 (from memory); as `fisher.test` of R for a table of two columns.
 * Example: `equalShares([{ yes: 8, n: 12 }, { yes: 3, n: 12 }, { yes: 5, n: 10 }]).p` is 0.137407966345
 */
export function equalShares(groups: readonly { yes: number; n: number }[]): EqualShares {
  for (const [at, { yes, n }] of groups.entries()) {
    integerIn(`groups.${at}.n`, n, 0, MAX_ANSWERS);
    integerIn(`groups.${at}.yes`, yes, 0, n);
  }
  if (groups.length === 0) throw new StatsInputError('groups', 0, 'at least one group');
  const told = groups.filter(({ n }) => n > 0);
  const yes = told.reduce((sum, one) => sum + one.yes, 0);
  const all = told.reduce((sum, { n }) => sum + n, 0);
  const facts = {
    df: Math.max(0, told.length - 1),
    method: 'Exact test of equal shares in several groups',
    assumption:
      'Every answer comes from another person, and answers within a group are alike in their chance.',
    source: 'Freeman & Halton 1951',
  };
  if (told.length < 2 || yes === 0 || yes === all) {
    return { ...facts, p: 1, route: 'exact', chiSquare: null };
  }
  const share = yes / all;
  const chiSquare = told.reduce(
    (sum, one) => sum + (one.yes - one.n * share) ** 2 / (one.n * share * (1 - share)),
    0,
  );
  const exact = exactTail(told, yes, all);
  return {
    ...facts,
    p: exact ?? chiSquareUpper(chiSquare, told.length - 1),
    route: exact === null ? 'chi-square' : 'exact',
    chiSquare,
  };
}

function exactTail(groups: readonly { yes: number; n: number }[], yes: number, all: number): number | null {
  const sizes = groups.map(({ n }) => n);
  // The last count follows from the total.
  if (sizes.slice(0, -1).reduce((product, n) => product * (n + 1), 1) > MAX_TABLES) return null;
  const logs = logFactorials(all);
  const logChoose = (n: number, k: number) => (logs[n] ?? 0) - (logs[k] ?? 0) - (logs[n - k] ?? 0);
  const seen = groups.reduce((sum, one) => sum + logChoose(one.n, one.yes), 0);
  const most = seen + Math.log(TIE);
  const terms: number[] = [];
  const walk = (at: number, left: number, weight: number): void => {
    const n = sizes[at] ?? 0;
    if (at === sizes.length - 1) {
      if (left > n) return;
      const total = weight + logChoose(n, left);
      if (total <= most) terms.push(Math.exp(total - logChoose(all, yes)));
      return;
    }
    for (let k = 0; k <= Math.min(n, left); k += 1) walk(at + 1, left - k, weight + logChoose(n, k));
  };
  walk(0, yes, 0);
  // From the smallest, so that small ones are not lost.
  return Math.min(
    1,
    terms.sort((a, b) => a - b).reduce((sum, term) => sum + term, 0),
  );
}

function logFactorials(most: number): number[] {
  const logs = [0];
  for (let k = 1; k <= most; k += 1) logs.push((logs[k - 1] ?? 0) + Math.log(k));
  return logs;
}
