import { binomial } from './verify-distributions.ts';

// The counts that the verifier (verify.ts) works choices out from, and the counts that a test needs.

/** What the figures of a difference test stand on. */
export interface Counts {
  kind: string;
  counted: number;
  n: number;
  guess: number;
  twoSided: boolean;
  alpha: number;
  /** Level of the interval that pairs with the test. */
  level: number;
  /** Trays of each person. */
  trays: number;
  /** People who answered. */
  people: number;
}

/** Smallest count that is significant at alpha; null when none is. */
export function criticalCount({
  n,
  guess,
  twoSided,
  alpha,
}: Pick<Counts, 'n' | 'guess' | 'twoSided' | 'alpha'>) {
  const limit = (twoSided ? alpha / 2 : alpha) * (1 + 1e-12);
  let critical: number | null = null;
  let tail = 0;
  if (n === 0) return null;
  const chances = binomial(n, guess);
  for (let k = n; k >= 0; k -= 1) {
    tail += chances[k] ?? 0;
    if (tail > limit || (twoSided && 2 * k < n)) break;
    critical = k;
  }
  return critical;
}

/** Largest count that still shows similarity; null when none does. */
export function mostSimilar(n: number, proportion: number, beta: number): number | null {
  let most: number | null = null;
  let tail = 0;
  for (const [k, chance] of binomial(n, proportion).entries()) {
    tail += chance;
    if (tail > beta * (1 + 1e-12)) break;
    most = k;
  }
  return n === 0 ? null : most;
}
