/** Binomial probabilities in whole numbers: an oracle that shares nothing with the code under test. */

/** All C(n, k) a^k (d - a)^(n - k), k = 0..n: the probabilities for p = a / d in units of d^-n. */
export function weights(n: number, a: bigint, d: bigint): bigint[] {
  const other = d - a;
  const list: bigint[] = [];
  let weight = other ** BigInt(n);
  for (let k = 0; k <= n; k += 1) {
    list.push(weight);
    weight = (weight * BigInt(n - k) * a) / (BigInt(k + 1) * other);
  }
  return list;
}

/** above / below as the nearest double up to an ulp or so, also far below 1. */
export function ratio(above: bigint, below: bigint): number {
  if (above === 0n) return 0;
  const digits = below.toString().length - above.toString().length + 20;
  const scaled = digits > 0 ? (above * 10n ** BigInt(digits)) / below : above / below;
  return digits > 0 ? Number(`${scaled}e-${digits}`) : Number(scaled);
}

/** P(X >= k) for every k = 0..n + 1, p = a / d. */
export function upperTails(n: number, a: bigint, d: bigint): number[] {
  const all = d ** BigInt(n);
  const tails: number[] = [0];
  let sum = 0n;
  for (const weight of weights(n, a, d).reverse()) {
    sum += weight;
    tails.push(ratio(sum, all));
  }
  return tails.reverse();
}

/** P(X <= k) for every k = 0..n, p = a / d. */
export function lowerTails(n: number, a: bigint, d: bigint): number[] {
  return upperTails(n, d - a, d)
    .slice(0, n + 1)
    .reverse();
}
