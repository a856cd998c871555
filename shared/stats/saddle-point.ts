/**
 * The two pieces of the saddle-point form of binomial and beta probabilities. They replace differences of
 * log-gammas, which lose digits as n grows.
 * Source: C. Loader (2000), Fast and Accurate Computation of Binomial Probabilities.
 */

/**
 * Error of Stirling's formula: ln Gamma(x + 1) - [(x + 1/2) ln x - x + ln(2 pi) / 2], for real x > 0.
 * Series for x >= 16 (first term left out: 1e-16); below, stepped down by Gamma(x + 1) = x Gamma(x).
 * Absolute error below 5e-15. Example: `stirlingError(1)` is 0.0810614667953
 */
export function stirlingError(x: number): number {
  let stepped = 0;
  let at = x;
  while (at < 16) {
    stepped += (at + 0.5) * Math.log1p(1 / at) - 1;
    at += 1;
  }
  const s = 1 / (at * at);
  const series = 1 / 12 - s * (1 / 360 - s * (1 / 1260 - s * (1 / 1680 - s * (1 / 1188))));
  return stepped + series / at;
}

/**
 * Deviance of a count from its expectation: x ln(x / m) + m - x, for x >= 0 and m > 0; never negative.
 * Near x = m the plain formula cancels, so a series in ((x - m) / (x + m))^2 takes over.
 * Example: `deviance(13, 8)` is 1.31160160516
 */
export function deviance(x: number, m: number): number {
  if (x === 0) return m;
  if (Math.abs(x - m) >= 0.1 * (x + m)) return x * Math.log(x / m) + m - x;
  const v = (x - m) / (x + m);
  let sum = (x - m) * v;
  let term = 2 * x * v;
  // |v| < 0.1: each turn gains two digits.
  for (let j = 1; j < 50; j += 1) {
    term *= v * v;
    const next = sum + term / (2 * j + 1);
    if (next === sum) break;
    sum = next;
  }
  return sum;
}
