import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aNotAPaired } from '@oddglass/shared/stats/discrimination/a-not-a-paired.ts';
import { aNotA } from '@oddglass/shared/stats/discrimination/a-not-a.ts';
import { fisherExact } from '@oddglass/shared/stats/discrimination/fisher-exact.ts';
import { normalPdf, normalQuantile } from '@oddglass/shared/stats/normal.ts';
import { SOFTWARE, VALUES } from './discrimination-values.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const plan = { level: 0.95, side: 'greater' } as const;

describe('A / not-A', () => {
  const published = referenceCase<
    { hits: number; n_A: number; false_alarms: number; n_notA: number },
    { dprime: number; se: number }
  >('a-not-a-dprime');
  it(named(published), () => {
    const { hits, n_A: nA, false_alarms: falseAlarms, n_notA: nNotA } = published.input;
    const ours = aNotA({ hits, nA, falseAlarms, nNotA, ...plan });
    expectWithin(ours.dPrime, published.expected.dprime, published.tolerance);
    expectWithin(ours.standardError, published.expected.se, published.tolerance);
    expect(ours.corrected).toBe(false);
  });

  it('corrects both rates where one is 0 or 1, and says so (Hautus 1995, from memory)', () => {
    const ours = aNotA({ hits: 10, nA: 10, falseAlarms: 3, nNotA: 11, ...plan });
    expect(ours.corrected).toBe(true);
    expect([ours.hitRate, ours.falseAlarmRate]).toEqual([10.5 / 11, 3.5 / 12]);
    const [h, f] = [normalQuantile(10.5 / 11), normalQuantile(3.5 / 12)];
    expectRelative(ours.dPrime, h - f, 1e-14);
    const variance =
      ((10.5 / 11) * (0.5 / 11)) / (11 * normalPdf(h) ** 2) +
      ((3.5 / 12) * (8.5 / 12)) / (12 * normalPdf(f) ** 2);
    expectRelative(ours.standardError, Math.sqrt(variance), 1e-13);
    // The test takes the counts as they are.
    const fisher = fisherExact({ first: { yes: 10, n: 10 }, second: { yes: 3, n: 11 }, side: 'greater' });
    expect(ours.p).toBe(fisher.p);
  });

  it('all right, none right, one sample only, no data', () => {
    const perfect = aNotA({ hits: 8, nA: 8, falseAlarms: 0, nNotA: 8, ...plan });
    expect(perfect.dPrime).toBeGreaterThan(3);
    expectRelative(perfect.p, 1 / 12870, 1e-12);
    const reversed = aNotA({ hits: 0, nA: 8, falseAlarms: 8, nNotA: 8, ...plan });
    expectRelative(reversed.dPrime, -(perfect.dPrime ?? NaN), 1e-13);
    expect(reversed.p).toBe(1);
    for (const none of [
      { hits: 3, nA: 5, falseAlarms: 0, nNotA: 0 },
      { hits: 0, nA: 0, falseAlarms: 0, nNotA: 0 },
    ]) {
      expect(aNotA({ ...none, ...plan })).toMatchObject({
        dPrime: null,
        standardError: null,
        lower: null,
        p: 1,
      });
    }
  });

  it('always saying "A" is no sensitivity, only a low criterion', () => {
    const ours = aNotA({ hits: 9, nA: 9, falseAlarms: 9, nNotA: 9, ...plan });
    expectWithin(ours.dPrime, 0, 1e-14);
    expect(ours.criterion).toBeLessThan(-1);
    expect(ours.p).toBe(1);
  });

  const counts = fc
    .tuple(fc.integer({ min: 1, max: 60 }), fc.integer({ min: 1, max: 60 }))
    .chain(([nA, nNotA]) =>
      fc.record({
        nA: fc.constant(nA),
        nNotA: fc.constant(nNotA),
        hits: fc.integer({ min: 0, max: nA }),
        falseAlarms: fc.integer({ min: 0, max: nNotA }),
      }),
    );
  it('turns its sign, and keeps SE and two-sided p, when the samples change names', () => {
    fc.assert(
      fc.property(counts, ({ hits, nA, falseAlarms, nNotA }) => {
        const two = { level: 0.9, side: 'two-sided' } as const;
        const ours = aNotA({ hits, nA, falseAlarms, nNotA, ...two });
        const turned = aNotA({ hits: falseAlarms, nA: nNotA, falseAlarms: hits, nNotA: nA, ...two });
        expectWithin(turned.dPrime, -(ours.dPrime ?? NaN), 1e-12);
        expectRelative(turned.standardError, ours.standardError ?? NaN, 1e-12);
        expectRelative(turned.p, ours.p, 1e-11);
        // Right and wrong changing names is the same sensitivity.
        const other = aNotA({
          hits: nNotA - falseAlarms,
          nA: nNotA,
          falseAlarms: nA - hits,
          nNotA: nA,
          ...two,
        });
        expectWithin(other.dPrime, ours.dPrime ?? NaN, 1e-12);
        expectWithin(other.criterion, -(ours.criterion ?? NaN), 1e-12);
      }),
    );
  });

  it('refuses counts that cannot be, by name', () => {
    const input = { hits: 3, nA: 5, falseAlarms: 1, nNotA: 5, ...plan };
    for (const [field, value] of [
      ['hits', 6],
      ['falseAlarms', -1],
      ['nA', 2.5],
      ['level', 1],
    ] as const) {
      expect(() => aNotA({ ...input, [field]: value })).toThrowError(expect.objectContaining({ field }));
    }
  });
});

describe("Fisher's exact test", () => {
  it.each(VALUES.fisher)(`exact fractions; two-sided also ${SOFTWARE}: $first $second`, (row) => {
    const [first, second] = [row.first, row.second].map(([yes, n]) => ({ yes, n }));
    if (!first || !second) throw new Error('two groups expected');
    expectRelative(fisherExact({ first, second, side: 'greater' }).p, row.greater, 1e-12);
    expectRelative(fisherExact({ first, second, side: 'two-sided' }).p, row.twoSided, 1e-12);
    expectRelative(fisherExact({ first, second, side: 'two-sided' }).p, row.scipyTwoSided, 1e-9);
  });

  it('the tea-tasting lady, 3 of 4 and 1 of 4: 17 / 70 and 34 / 70 (Fisher 1935, from memory)', () => {
    const tea = { first: { yes: 3, n: 4 }, second: { yes: 1, n: 4 } };
    expectRelative(fisherExact({ ...tea, side: 'greater' }).p, 17 / 70, 1e-13);
    expectRelative(fisherExact({ ...tea, side: 'two-sided' }).p, 34 / 70, 1e-13);
  });

  it('falls as more of the first group say yes', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 80 }),
        fc.integer({ min: 1, max: 80 }),
        fc.nat(),
        (n, m, seed) => {
          const yes = seed % (m + 1);
          for (let more = 1; more <= Math.min(n, 5); more += 1) {
            const p = [more - 1, more].map(
              (x) => fisherExact({ first: { yes: x, n }, second: { yes, n: m }, side: 'greater' }).p,
            );
            expect(p[1]).toBeLessThanOrEqual((p[0] ?? NaN) + 1e-13);
          }
        },
      ),
    );
  });
});

describe('A / not-A of assessors who judged both', () => {
  const mcnemar = referenceCase<{ b: number; c: number }[], number[]>('mcnemar-exact');
  it(named(mcnemar), () => {
    mcnemar.input.forEach(({ b, c }, index) => {
      const { p } = aNotAPaired({ right: b, reversed: c, side: 'two-sided' });
      expectWithin(p, mcnemar.expected[index] ?? NaN, mcnemar.tolerance);
    });
  });

  it('one-sided looks only for "A" said to A', () => {
    expectRelative(aNotAPaired({ right: 6, reversed: 0, side: 'greater' }).p, 1 / 64, 1e-14);
    expect(aNotAPaired({ right: 0, reversed: 6, side: 'greater' }).p).toBe(1);
    expect(aNotAPaired({ right: 0, reversed: 0, side: 'greater' })).toMatchObject({ p: 1, discordant: 0 });
    expect(() => aNotAPaired({ right: -1, reversed: 2, side: 'greater' })).toThrowError(/right/);
  });
});
