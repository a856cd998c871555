// The verifier's own distributions (verify.ts), from textbook series and continued fractions: nothing of the code that made
// the figures. Good to ten digits and more where a publication uses them.
// Sources: Abramowitz & Stegun 1964, Handbook of Mathematical Functions, 6.1, 6.5, 7.1, 26.5; the logarithm of the gamma
// function by Lanczos 1964 with the nine coefficients of g = 7 (from memory; held by tests of what stands on it).

const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];
const STEPS = 500;
const TINY = 1e-300;

export function logGamma(x: number): number {
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const t = x + 6.5;
  const series = LANCZOS.reduce((sum, one, i) => (i === 0 ? one : sum + one / (x - 1 + i)), 0);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(series);
}

/** Upper tail of the incomplete gamma function, Q(a, x). */
export function gammaUpper(a: number, x: number): number {
  if (x <= 0) return 1;
  const scale = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let i = 1; i < STEPS && term > sum * 1e-17; i += 1) {
      term *= x / (a + i);
      sum += term;
    }
    return 1 - scale * sum;
  }
  let b = x + 1 - a;
  let c = 1 / TINY;
  let d = 1 / b;
  let h = d;
  for (let i = 1; i < STEPS; i += 1) {
    const an = -i * (i - a);
    b += 2;
    d = 1 / (an * d + b || TINY);
    c = b + an / c || TINY;
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-16) break;
  }
  return scale * h;
}

/** The regularised incomplete beta function: P(X <= x) of a beta distribution. */
export function betaLower(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaLower(1 - x, b, a);
  const front = Math.exp(a * Math.log(x) + b * Math.log1p(-x) + logGamma(a + b) - logGamma(a) - logGamma(b));
  let c = 1;
  let d = 1 / (1 - ((a + b) * x) / (a + 1) || TINY);
  let h = d;
  for (let m = 1; m < STEPS; m += 1) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / (1 + even * d || TINY);
    c = 1 + even / c || TINY;
    h *= d * c;
    d = 1 / (1 + odd * d || TINY);
    c = 1 + odd / c || TINY;
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-16) break;
  }
  return (front * h) / a;
}

/** Where an increasing function reaches `goal` between two ends, by halving. */
export function whereReached(value: (x: number) => number, goal: number, low: number, high: number): number {
  for (let i = 0; i < 80 && high - low > 1e-15 * Math.max(1, Math.abs(high)); i += 1) {
    const middle = (low + high) / 2;
    if (value(middle) < goal) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

export const betaQuantile = (p: number, a: number, b: number): number =>
  whereReached((x) => betaLower(x, a, b), p, 0, 1);

export const normalDensity = (z: number): number => Math.exp(-(z * z) / 2) / Math.sqrt(2 * Math.PI);
/** P(Z <= z). */
export const normalBelow = (z: number): number =>
  z < 0 ? gammaUpper(0.5, (z * z) / 2) / 2 : 1 - gammaUpper(0.5, (z * z) / 2) / 2;
export const normalQuantile = (p: number): number => whereReached(normalBelow, p, -40, 40);
export const chiSquareAbove = (x: number, df: number): number => gammaUpper(df / 2, x / 2);
export const fAbove = (f: number, df1: number, df2: number): number =>
  betaLower(df2 / (df2 + df1 * f), df2 / 2, df1 / 2);
/** Both tails of Student's t. */
export const studentBoth = (t: number, df: number): number => betaLower(df / (df + t * t), df / 2, 0.5);
export const studentQuantile = (p: number, df: number): number =>
  whereReached((t) => (t < 0 ? studentBoth(t, df) / 2 : 1 - studentBoth(t, df) / 2), p, -1e4, 1e4);

/** Chances of 0 to n right answers when each is right with chance p. */
export function binomial(n: number, p: number): number[] {
  if (p <= 0 || p >= 1) return Array.from({ length: n + 1 }, (_, k) => (k === (p <= 0 ? 0 : n) ? 1 : 0));
  let log = n * Math.log1p(-p);
  return Array.from({ length: n + 1 }, (_, k) => {
    if (k > 0) log += Math.log((n - k + 1) / k) + Math.log(p / (1 - p));
    return Math.exp(log);
  });
}

/** P(X >= from). */
export const binomialFrom = (from: number, n: number, p: number): number =>
  Math.min(
    1,
    binomial(n, p)
      .slice(Math.max(0, from))
      .reduceRight((sum, one) => sum + one, 0),
  );
/** P(X <= to). */
export const binomialTo = (to: number, n: number, p: number): number => binomialFrom(n - to, n, 1 - p);

/** p adjusted by Holm 1979 over `planned` tests, in the order given; null where there is none. */
export function holm(list: readonly (number | null)[], planned = list.length): (number | null)[] {
  const order = list.flatMap((p, at) => (p === null ? [] : [{ p, at }])).sort((a, b) => a.p - b.p);
  const adjusted: (number | null)[] = list.map(() => null);
  let most = 0;
  order.forEach(({ p, at }, rank) => {
    most = Math.max(most, Math.min(1, (planned - rank) * p));
    adjusted[at] = most;
  });
  return adjusted;
}

/** Exact limits of a share (Clopper and Pearson 1934); of a number of answers that need not be whole (Korn and Graubard 1998). */
export function exactLimits(counted: number, n: number, level: number): { lower: number; upper: number } {
  if (n === 0) return { lower: 0, upper: 1 };
  const risk = (1 - level) / 2;
  return {
    lower: counted === 0 ? 0 : betaQuantile(risk, counted, n - counted + 1),
    upper: counted === n ? 1 : betaQuantile(1 - risk, counted + 1, n - counted),
  };
}

/** Wilson's limits (1927). */
export function wilsonLimits(counted: number, n: number, level: number): { lower: number; upper: number } {
  if (n === 0) return { lower: 0, upper: 1 };
  const z = normalQuantile((1 + level) / 2);
  const share = counted / n;
  const reach = z * Math.sqrt((share * (1 - share)) / n + z ** 2 / (4 * n * n));
  const of = (sign: number): number => (share + z ** 2 / (2 * n) + sign * reach) / (1 + z ** 2 / n);
  return { lower: counted === 0 ? 0 : of(-1), upper: counted === n ? 1 : of(1) };
}
