import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { equalShares } from '@oddglass/shared/stats/discrimination/equal-shares.ts';
import { fisherExact } from '@oddglass/shared/stats/discrimination/fisher-exact.ts';
import { sampleByGroup } from '@oddglass/shared/stats/rating/sample-by-group.ts';
import { expectRelative, expectWithin } from './within.ts';

// Do places agree? Computed values: R 4.2.2, fisher.test and aov with Error(person); live-r.test.ts asks R on random input.

const group = fc
  .integer({ min: 1, max: 12 })
  .chain((n) => fc.record({ yes: fc.integer({ min: 0, max: n }), n: fc.constant(n) }));

describe('equal shares in several groups', () => {
  it('R 4.2.2: fisher.test(rbind(c(8, 4), c(3, 9), c(5, 5)))', () => {
    const ours = equalShares([
      { yes: 8, n: 12 },
      { yes: 3, n: 12 },
      { yes: 5, n: 10 },
    ]);
    expectRelative(ours.p, 0.137407966345, 1e-11);
    expect([ours.route, ours.df]).toEqual(['exact', 2]);
  });

  it('of two groups it is the two-sided test of Fisher', () => {
    fc.assert(
      fc.property(group, group, (first, second) => {
        expectWithin(
          equalShares([first, second]).p,
          fisherExact({ first, second, side: 'two-sided' }).p,
          1e-9,
        );
      }),
    );
  });

  it('does not depend on the order of groups, on who is called yes, or on a group without answers', () => {
    fc.assert(
      fc.property(fc.array(group, { minLength: 2, maxLength: 4 }), (groups) => {
        const { p } = equalShares(groups);
        expect(p).toBeGreaterThan(0);
        expect(p).toBeLessThanOrEqual(1);
        expectWithin(equalShares(groups.toReversed()).p, p, 1e-12);
        expectWithin(equalShares(groups.map(({ yes, n }) => ({ yes: n - yes, n }))).p, p, 1e-9);
        expectWithin(equalShares([...groups, { yes: 0, n: 0 }]).p, p, 1e-12);
      }),
      { numRuns: 60 },
    );
  });

  it('keeps its level whatever the common share is: the chance of p at or below alpha is at most alpha', () => {
    const sizes = [4, 5, 6];
    for (const share of [1 / 3, 0.6]) {
      const chance = (n: number, k: number) => choose(n, k) * share ** k * (1 - share) ** (n - k);
      let wrong = 0;
      for (let a = 0; a <= 4; a += 1)
        for (let b = 0; b <= 5; b += 1)
          for (let c = 0; c <= 6; c += 1) {
            const counts = [a, b, c];
            const { p } = equalShares(counts.map((yes, at) => ({ yes, n: sizes[at] ?? 0 })));
            if (p <= 0.05) wrong += counts.reduce((all, k, at) => all * chance(sizes[at] ?? 0, k), 1);
          }
      expect(wrong).toBeLessThanOrEqual(0.05);
      expect(wrong).toBeGreaterThan(0.005);
    }
  });

  it('goes over to the chi-square where there are too many tables, and says so', () => {
    const many = equalShares(Array.from({ length: 8 }, (_, at) => ({ yes: 6 + (at % 3), n: 20 })));
    expect(many.route).toBe('chi-square');
    // R 4.2.2: chisq.test(rbind(c(6,7,8,6,7,8,6,7), 20 - c(6,7,8,6,7,8,6,7)), correct = FALSE)$p.value
    expectRelative(many.p, 0.99342301135218, 1e-9);
  });

  it('has nothing to test with one group, without answers, or where all say the same', () => {
    for (const groups of [
      [{ yes: 3, n: 7 }],
      [
        { yes: 0, n: 0 },
        { yes: 2, n: 5 },
      ],
      [
        { yes: 5, n: 5 },
        { yes: 3, n: 3 },
      ],
    ])
      expect(equalShares(groups)).toMatchObject({ p: 1, chiSquare: null });
    expect(() => equalShares([{ yes: 4, n: 3 }])).toThrow('groups.0.yes');
    expect(() => equalShares([])).toThrow('groups');
  });
});

describe('samples by group, within people', () => {
  const rows = [
    [1, 2, 4],
    [2, 2, 5],
    [3, 1, 1],
    [4, 2, 2],
  ];
  const groups = ['a', 'a', 'b', 'b'];

  it('R 4.2.2: aov(y ~ sample * group + Error(person)), F 75 on 2 and 4, p 0.000675', () => {
    const { test } = sampleByGroup({ rows, groups });
    expectRelative(test?.f ?? NaN, 75, 1e-12);
    expect([test?.df1, test?.df2]).toEqual([2, 4]);
    expectRelative(test?.p ?? NaN, 0.000674650025299, 1e-11);
  });

  it('a place that marks higher, or a person who does, changes nothing', () => {
    const mark = fc.integer({ min: 0, max: 100 });
    const person = fc.tuple(mark, mark, mark);
    fc.assert(
      fc.property(
        fc.array(person, { minLength: 6, maxLength: 9 }),
        fc.array(mark, { minLength: 9, maxLength: 9 }),
        (people, shifts) => {
          const of = people.map((_, at) => (at % 2 === 0 ? 'north' : 'south'));
          const moved = people.map((row, at) =>
            row.map((value) => value + (shifts[at] ?? 0) + (of[at] === 'north' ? 40 : 0)),
          );
          const [before, after] = [people, moved].map((list) => sampleByGroup({ rows: list, groups: of }));
          expectWithin(after?.ss.interaction ?? NaN, before?.ss.interaction ?? NaN, 1e-6);
          expectWithin(after?.ss.residual ?? NaN, before?.ss.residual ?? NaN, 1e-6);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('says why there is no test', () => {
    expect(sampleByGroup({ rows, groups: ['a', 'a', 'a', 'a'] }).reason).toBe('one group');
    expect(sampleByGroup({ rows: rows.slice(1, 3), groups: ['a', 'b'] }).reason).toBe('too few people');
    const same = [
      [1, 2],
      [2, 3],
      [3, 4],
      [1, 2],
    ];
    expect(sampleByGroup({ rows: same, groups })).toMatchObject({ test: null, reason: 'no error variation' });
    expect(() => sampleByGroup({ rows: [[1, 2], [1]], groups: ['a', 'b'] })).toThrow('rows[1].length');
    expect(() => sampleByGroup({ rows, groups: ['a'] })).toThrow('groups.length');
  });
});

function choose(n: number, k: number): number {
  return k === 0 ? 1 : (choose(n - 1, k - 1) * n) / k;
}
