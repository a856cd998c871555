/** A seed of 32 bytes that says its number; the same number, the same seed. */
export function seedOf(number: number): Uint8Array {
  const seed = new Uint8Array(32).fill(0x5a);
  new DataView(seed.buffer).setUint32(0, number);
  return seed;
}

/** Pearson's statistic of counts against expected shares (adding up to 1), or against all equally likely. */
export function chiSquare(
  counts: readonly number[],
  shares: readonly number[] = counts.map(() => 1 / counts.length),
): number {
  const total = counts.reduce((sum, count) => sum + count, 0);
  return counts.reduce((sum, count, at) => {
    const expected = total * (shares[at] ?? Number.NaN);
    return sum + (count - expected) ** 2 / expected;
  }, 0);
}

/** Chi-square exceeded by chance once in a million, by degrees of freedom: SciPy 1.17.1, chi2.isf(1e-6, df). */
export const UPPER_MILLIONTH = { 1: 23.928, 2: 27.631, 5: 35.888, 6: 38.258, 8: 42.701, 23: 70.549 } as const;
