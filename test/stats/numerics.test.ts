import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { gaussLegendre } from '@oddglass/shared/stats/gauss-legendre.ts';
import { betaCdf, betaPdf } from '@oddglass/shared/stats/incomplete-beta.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { betaQuantile, studentTwoSided } from '@oddglass/shared/stats/jstat.ts';
import { normalCdf, normalPdf, normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { crossing } from '@oddglass/shared/stats/root.ts';
import { deviance, stirlingError } from '@oddglass/shared/stats/saddle-point.ts';
import { expectRelative, expectWithin } from './within.ts';

// mpmath 1.3.0, betainc at 30 digits and its root; shapes that are no whole numbers.
const BETA_ROWS = [
  { x: 0.3, a: 2.5, b: 7.25, cdf: 0.660482273581907, quantile: 0.171730705634329 },
  { x: 0.05, a: 17.4, b: 11.6, cdf: 2.47313399630452e-16, quantile: 0.448700363513694 },
  { x: 0.95, a: 16.78, b: 12.52, cdf: 0.999999999001499, quantile: 0.717883275233423 },
  { x: 0.5, a: 0.5, b: 0.5, cdf: 0.5, quantile: 0.5 },
  { x: 0.025, a: 120.3, b: 240.9, cdf: 8.86118730880594e-98, quantile: 0.2854288960436 },
  { x: 0.9, a: 1200.5, b: 2400.25, cdf: 1.0, quantile: 0.343490223593587 },
  { x: 0.001, a: 3.3, b: 0.7, cdf: 6.57283407897053e-11, quantile: 0.148480217239638 },
];

// SciPy 1.17.1, stats.t.isf(tail / 2, df).
const T_ROWS = [
  { tail: 0.1, df: 1, t: 6.31375151467504 },
  { tail: 0.1, df: 14, t: 1.76131013577489 },
  { tail: 0.05, df: 59, t: 2.00099537808827 },
  { tail: 0.02, df: 2.5, t: 5.35311117303087 },
  { tail: 0.001, df: 23, t: 3.76762680431178 },
  { tail: 0.1, df: 1999, t: 1.64561624818726 },
];

describe('normal distribution', () => {
  // mpmath 1.3.0, ncdf at 30 digits.
  it.each([
    [-37, 5.72557122252458e-300],
    [-8, 6.22096057427178e-16],
    [-1, 0.158655253931457],
    [0, 0.5],
    [3, 0.99865010196837],
  ])('cdf at %d', (z, value) => {
    expectRelative(normalCdf(z), value, 1e-13);
  });

  it('quantile gives back its probability', () => {
    fc.assert(
      fc.property(fc.double({ min: -300, max: -0.0001, noNaN: true }), (exponent) => {
        const p = 10 ** exponent;
        // Relative in p what is 1e-15 relative in z: z^2 times as much.
        const z = normalQuantile(p);
        expectRelative(normalCdf(z), p, 1e-13 + 4e-15 * z * z);
      }),
    );
    expectWithin(normalQuantile(0.5), 0, 0);
    expectRelative(normalQuantile(0.9), -normalQuantile(0.1), 1e-14);
    expect(() => normalQuantile(0)).toThrowError(StatsInputError);
  });

  it('density integrates to 1 with Gauss-Legendre', () => {
    const sum = gaussLegendre(-9, 9, 18).reduce((total, { x, weight }) => total + weight * normalPdf(x), 0);
    expectWithin(sum, 1, 1e-14);
  });
});

describe('Gauss-Legendre quadrature', () => {
  it('is exact for polynomials up to degree 39 and not for 40', () => {
    const integral = (power: number) =>
      gaussLegendre(-1, 1, 1).reduce((sum, { x, weight }) => sum + weight * x ** power, 0);
    for (let power = 0; power < 40; power += 2) expectRelative(integral(power), 2 / (power + 1), 1e-13);
    expect(Math.abs(integral(40) / (2 / 41) - 1)).toBeGreaterThan(1e-12);
  });
});

describe('incomplete beta and its quantile', () => {
  it.each(BETA_ROWS)('shapes $a and $b at $x', ({ x, a, b, cdf, quantile }) => {
    expectRelative(betaCdf(x, a, b), cdf, 2e-12);
    expectRelative(betaQuantile(x, a, b), quantile, 2e-12);
  });

  it('mirror each other and have their density as slope', () => {
    const shape = fc.double({ min: 0.6, max: 300, noNaN: true });
    fc.assert(
      fc.property(shape, shape, fc.double({ min: 0.02, max: 0.98, noNaN: true }), (a, b, x) => {
        expectWithin(betaCdf(x, a, b) + betaCdf(1 - x, b, a), 1, 1e-12);
        const h = 1e-5;
        const slope = (betaCdf(x + h, a, b) - betaCdf(x - h, a, b)) / (2 * h);
        expectWithin(betaPdf(x, a, b), slope, 1e-4 * (1 + slope));
        // Near 1 a step of one double moves the cdf by density x 1e-16.
        const q = betaQuantile(x, a, b);
        expectWithin(betaCdf(q, a, b), x, 1e-12 + 4e-16 * betaPdf(Math.min(q, 1 - 1e-16), a, b));
      }),
    );
  });

  it('know the closed forms', () => {
    for (const x of [0.001, 0.2, 0.5, 0.9]) {
      expectRelative(betaCdf(x, 1, 7), 1 - (1 - x) ** 7, 1e-12);
      expectRelative(betaCdf(x, 3.7, 1), x ** 3.7, 1e-13);
      expectRelative(betaQuantile(x, 3.7, 1), x ** (1 / 3.7), 1e-13);
    }
    expect([betaQuantile(0, 2, 3), betaQuantile(1, 2, 3), betaCdf(0, 2, 3), betaCdf(1, 2, 3)]).toEqual([
      0, 1, 0, 1,
    ]);
  });

  it('refuse shapes of 0 and probabilities above 1', () => {
    expect(() => betaCdf(0.5, 0, 1)).toThrowError(expect.objectContaining({ field: 'a' }));
    expect(() => betaQuantile(0.5, 1, Infinity)).toThrowError(expect.objectContaining({ field: 'b' }));
    expect(() => betaQuantile(1.5, 1, 1)).toThrowError(StatsInputError);
  });
});

describe("Student's t", () => {
  it.each(T_ROWS)('tail $tail, df $df', ({ tail, df, t }) => {
    expectRelative(studentTwoSided(tail, df), t, 1e-11);
  });

  it('refuses no degrees of freedom', () => {
    expect(() => studentTwoSided(0.05, 0)).toThrowError(expect.objectContaining({ field: 'df' }));
  });
});

describe('saddle-point pieces', () => {
  it('Stirling error equals ln n! less the formula, by adding logarithms', () => {
    let logFactorial = 0;
    for (let n = 1; n <= 60; n += 1) {
      logFactorial += Math.log(n);
      const stirling = (n + 0.5) * Math.log(n) - n + 0.5 * Math.log(2 * Math.PI);
      expectWithin(stirlingError(n), logFactorial - stirling, 1e-12, `n = ${n}`);
    }
    // ln Gamma(3/2) = ln(sqrt(pi) / 2), and (1/2 + 1/2) ln(1/2) = -ln 2.
    expectWithin(stirlingError(0.5), Math.log(Math.sqrt(Math.PI)) + 0.5 - 0.5 * Math.log(2 * Math.PI), 1e-14);
  });

  it('deviance is smooth where its two forms meet, and 0 at the mean', () => {
    expect(deviance(7, 7)).toBe(0);
    expect(deviance(0, 3)).toBe(3);
    const x = 100;
    const meeting = (100 * 0.9) / 1.1;
    expectRelative(deviance(x, meeting * (1 - 1e-12)), deviance(x, meeting * (1 + 1e-12)), 1e-10);
  });
});

describe('crossing', () => {
  it('finds roots where the slope is 0 at the end or everywhere said to be 0', () => {
    const root = crossing({ low: 0, high: 30, start: 0, value: (x) => x ** 3 - 8, slope: () => 0 });
    expectRelative(root, 2, 1e-14);
  });
});
