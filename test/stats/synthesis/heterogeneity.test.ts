import { heterogeneity, sharesOf } from '@oddglass/shared/stats/synthesis/heterogeneity.ts';
import { describe, expect, it } from 'vitest';

// Thirteen trials of a vaccine, cases and others with and without it: Colditz et al. 1994, JAMA 271:698, the worked example
// of the field (counts and published sums from memory: Q 152.23, tau2 0.3088, mean -0.7141, I2 92.1 %).
const TRIALS = [
  [4, 119, 11, 128],
  [6, 300, 29, 274],
  [3, 228, 11, 209],
  [62, 13536, 248, 12619],
  [33, 5036, 47, 5761],
  [180, 1361, 372, 1079],
  [8, 2537, 10, 619],
  [505, 87886, 499, 87892],
  [29, 7470, 45, 7232],
  [17, 1699, 65, 1600],
  [186, 50448, 141, 27197],
  [5, 2493, 3, 2338],
  [27, 16886, 29, 17825],
].map(([a = 0, b = 0, c = 0, d = 0]) => ({
  effect: Math.log(a / (a + b) / (c / (c + d))),
  standardError: Math.sqrt(1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)),
}));

describe('heterogeneity', () => {
  it('gives the sums of the published example', () => {
    const { q, df, iSquared, tauSquared, pooled } = heterogeneity({ effects: TRIALS, level: 0.95 });
    expect(df).toBe(12);
    expect(q).toBeCloseTo(152.23, 2);
    expect(tauSquared).toBeCloseTo(0.3088, 4);
    expect(pooled?.effect).toBeCloseTo(-0.7141, 4);
    // Base R 4.2.2, the formulas written out.
    expect(q).toBeCloseTo(152.233008082373, 9);
    expect(tauSquared).toBeCloseTo(0.308760262862, 11);
    expect(iSquared?.estimate).toBeCloseTo(0.921173468546, 11);
    expect(iSquared?.lower).toBeCloseTo(0.883163794741, 11);
    expect(iSquared?.upper).toBeCloseTo(0.946817666259, 11);
    expect(pooled?.standardError).toBeCloseTo(0.180696628336, 11);
    expect(pooled?.lower).toBeCloseTo(-1.107821354168, 9);
    expect(pooled?.upper).toBeCloseTo(-0.320413089978, 9);
  });

  it('gives what base R gives for four sittings', () => {
    const effects = [
      { effect: 1.2, standardError: 0.5 },
      { effect: 0.4, standardError: 0.45 },
      { effect: 0.9, standardError: 0.6 },
      { effect: 2.1, standardError: 0.4 },
    ];
    const { q, iSquared, tauSquared, pooled } = heterogeneity({ effects, level: 0.95 });
    expect(q).toBeCloseTo(8.43362156177824, 11);
    expect(tauSquared).toBeCloseTo(0.41432501273561, 11);
    expect(iSquared?.estimate).toBeCloseTo(0.64428093221586, 11);
    expect([iSquared?.lower, iSquared?.upper]).toEqual([0, expect.closeTo(0.87953897726849, 10)]);
    expect([pooled?.effect, pooled?.lower, pooled?.upper]).toEqual(
      [1.18094831101951, -0.10138803025297, 2.463284652292].map((value) => expect.closeTo(value, 9)),
    );
  });

  it('does not take three sittings that happen to be alike for surely alike', () => {
    const effects = [
      { effect: 1, standardError: 0.5 },
      { effect: 1.1, standardError: 0.4 },
      { effect: 0.9, standardError: 0.6 },
    ];
    const { iSquared, pooled } = heterogeneity({ effects, level: 0.95 });
    expect(iSquared?.estimate).toBe(0);
    expect(iSquared?.upper).toBeGreaterThan(0.8);
    // Not below the error of the weights: base R, sqrt(1 / sum(1 / s^2)).
    expect(pooled?.standardError).toBeCloseTo(0.27705425792377, 11);
  });

  it('pools nothing below three, and refuses what has no error', () => {
    const two = TRIALS.slice(0, 2);
    expect(heterogeneity({ effects: two, level: 0.95 })).toMatchObject({
      df: 1,
      iSquared: null,
      tauSquared: null,
      pooled: null,
    });
    expect(() => heterogeneity({ effects: two.slice(1), level: 0.95 })).toThrow(/two sittings/);
    expect(() => heterogeneity({ effects: [...two, { effect: 1, standardError: 0 }], level: 0.95 })).toThrow(
      /above 0/,
    );
  });

  it('is Pearson’s chi-square where shares were counted, those of nobody and everybody included', () => {
    const effects = sharesOf([
      { counted: 20, n: 30 },
      { counted: 12, n: 30 },
      { counted: 15, n: 24 },
    ]);
    // R: prop.test(c(20, 12, 15), c(30, 30, 24), correct = FALSE)$statistic.
    expect(heterogeneity({ effects: effects!, level: 0.95 }).q).toBeCloseTo(4.912478435883, 10);
    expect(
      sharesOf([
        { counted: 0, n: 9 },
        { counted: 9, n: 9 },
      ]),
    ).not.toBeNull();
    expect(
      sharesOf([
        { counted: 9, n: 9 },
        { counted: 5, n: 5 },
      ]),
    ).toBeNull();
    expect(sharesOf([{ counted: 0, n: 9 }])).toBeNull();
  });
});
