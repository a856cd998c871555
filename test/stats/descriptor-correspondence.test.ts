import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/design/random.ts';
import { ballotTable } from '@oddglass/shared/stats/descriptor/ballot-table.ts';
import {
  correspondence,
  type CorrespondencePoint,
} from '@oddglass/shared/stats/descriptor/correspondence.ts';
import { correspondenceEllipses } from '@oddglass/shared/stats/descriptor/correspondence-ellipses.ts';
import { profileTest } from '@oddglass/shared/stats/descriptor/profile-test.ts';
import { singularValues } from '@oddglass/shared/stats/descriptor/singular-values.ts';
import { fastRandom } from '@oddglass/shared/stats/fast-random.ts';
import { StatsInputError } from '@oddglass/shared/stats/input.ts';
import { computed } from './ranking-descriptor-values.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const random = (byte = 7) => seededRandom(new Uint8Array(32).fill(byte));

const counts = fc
  .record({ r: fc.integer({ min: 2, max: 6 }), c: fc.integer({ min: 2, max: 8 }) })
  .chain(({ r, c }) =>
    fc.array(fc.array(fc.integer({ min: 0, max: 20 }), { minLength: c, maxLength: c }), {
      minLength: r,
      maxLength: r,
    }),
  );

describe('correspondence analysis', () => {
  const smoke = referenceCase<
    { table: number[][] },
    Record<'principal_inertias' | 'percent' | 'row_mass' | 'col_mass' | 'row_inertia', number[]> &
      Record<'row_principal_dim1_2' | 'col_principal_dim1_2', number[][]> &
      Record<'total_inertia' | 'chisq' | 'df' | 'p', number>
  >('ca-smoke');
  it(named(smoke), () => {
    const { expected, tolerance } = smoke;
    const ours = correspondence({ table: smoke.input.table });
    expect(ours.axes.length).toBe(3);
    ours.axes.forEach(({ inertia, share }, axis) => {
      expectRelative(inertia, expected.principal_inertias[axis] ?? NaN, 1e-9);
      expectRelative(100 * share, expected.percent[axis] ?? NaN, 1e-9);
    });
    expectRelative(ours.totalInertia, expected.total_inertia, 1e-10);
    expectRelative(ours.chiSquare, expected.chisq, 1e-10);
    expect(ours.df).toBe(expected.df);
    expectRelative(ours.pIndependent, expected.p, 1e-9);
    // Signs of an axis are arbitrary, but one for rows and columns together.
    for (const axis of [0, 1]) {
      const sign = Math.sign(
        (ours.rows[0]?.coordinates[axis] ?? 0) * (expected.row_principal_dim1_2[0]?.[axis] ?? 0),
      );
      const compare = (points: CorrespondencePoint[], wanted: number[][]) =>
        points.forEach((point, i) =>
          expectWithin(sign * (point.coordinates[axis] ?? NaN), wanted[i]?.[axis] ?? NaN, tolerance),
        );
      compare(ours.rows, expected.row_principal_dim1_2);
      compare(ours.columns, expected.col_principal_dim1_2);
    }
    ours.rows.forEach(({ mass, inertia }, i) => {
      expectRelative(mass, expected.row_mass[i] ?? NaN, 1e-11);
      expectRelative(inertia, expected.row_inertia[i] ?? NaN, 1e-9);
    });
    ours.columns.forEach(({ mass }, j) => expectRelative(mass, expected.col_mass[j] ?? NaN, 1e-11));
  });

  it('principal inertias 0.074759, 0.010017, 0.000414, total 0.085190 (Nenadic & Greenacre 2007)', () => {
    const { axes, totalInertia } = correspondence({ table: smoke.input.table });
    expect(axes.map(({ inertia }) => inertia.toFixed(6))).toEqual(['0.074759', '0.010017', '0.000414']);
    expect(totalInertia.toFixed(6)).toBe('0.085190');
  });

  it(`40 random tables, singular values by NumPy (${computed.about})`, () => {
    for (const { table, inertias, rows, columns, chiSquare } of computed.correspondence) {
      const ours = correspondence({ table });
      expectRelative(ours.chiSquare, chiSquare, 1e-10);
      inertias.forEach((inertia, axis) => {
        const value = ours.axes[axis]?.inertia ?? 0;
        expectWithin(value, inertia, 1e-13);
        // Coordinates are as sure as axes are apart from each other and from nothing.
        const apart = Math.min(
          ...inertias.map((other, i) => (i === axis ? inertia : Math.abs(other - inertia))),
        );
        if (apart < 1e-4) return;
        ours.rows.forEach((point, i) =>
          expectWithin(Math.abs(point.coordinates[axis] ?? NaN), rows[i]?.[axis] ?? NaN, 1e-9),
        );
        ours.columns.forEach((point, j) =>
          expectWithin(Math.abs(point.coordinates[axis] ?? NaN), columns[j]?.[axis] ?? NaN, 1e-9),
        );
      });
    }
  });

  it('keeps its sums: coordinates centred, inertias and contributions complete, distances those of profiles', () => {
    fc.assert(
      fc.property(counts, (table) => {
        const map = correspondence({ table });
        expectWithin(
          map.axes.reduce((sum, { inertia }) => sum + inertia, 0),
          map.totalInertia,
          1e-12,
        );
        for (const points of [map.rows, map.columns]) {
          expectWithin(
            points.reduce((sum, { inertia }) => sum + inertia, 0),
            map.totalInertia,
            1e-12,
          );
          map.axes.forEach(({ inertia }, axis) => {
            expectWithin(
              points.reduce((sum, p) => sum + p.mass * (p.coordinates[axis] ?? NaN), 0),
              0,
              1e-10,
            );
            expectWithin(
              points.reduce((sum, p) => sum + p.mass * (p.coordinates[axis] ?? NaN) ** 2, 0),
              inertia,
              1e-12,
            );
            expectWithin(
              points.reduce((sum, p) => sum + (p.contributions[axis] ?? NaN), 0),
              1,
              1e-10,
            );
          });
        }
        // Chi-square distance of the first two row profiles.
        const [a, b] = map.rows;
        if (!a || !b) return;
        const profile = (i: number) => {
          const row = table[i] ?? [];
          const sum = row.reduce((x, y) => x + y, 0);
          return map.columns.map(({ index }) => (row[index] ?? 0) / sum);
        };
        const [pa, pb] = [profile(a.index), profile(b.index)];
        const wanted = map.columns.reduce(
          (sum, { mass }, j) => sum + ((pa[j] ?? 0) - (pb[j] ?? 0)) ** 2 / mass,
          0,
        );
        const ours = a.coordinates.reduce((sum, x, axis) => sum + (x - (b.coordinates[axis] ?? NaN)) ** 2, 0);
        expectWithin(ours, wanted, 1e-10 * (1 + wanted));
      }),
    );
  });

  it('turned on its side is the same map', () => {
    fc.assert(
      fc.property(counts, (table) => {
        const map = correspondence({ table });
        const side = correspondence({
          table: (table[0] ?? []).map((_, j) => table.map((row) => row[j] ?? 0)),
        });
        expect(side.axes.length).toBe(map.axes.length);
        expect(side.emptyRows).toEqual(map.emptyColumns);
        map.axes.forEach(({ inertia }, axis) =>
          expectWithin(side.axes[axis]?.inertia ?? NaN, inertia, 1e-12),
        );
      }),
    );
  });

  it('leaves out what is empty and lists it', () => {
    const map = correspondence({
      table: [
        [3, 0, 1],
        [0, 0, 0],
        [1, 0, 4],
        [2, 0, 2],
      ],
    });
    expect(map.emptyRows).toEqual([1]);
    expect(map.emptyColumns).toEqual([1]);
    expect(map.rows.map(({ index }) => index)).toEqual([0, 2, 3]);
    expect(map.columns.map(({ index }) => index)).toEqual([0, 2]);
    expect(map.axes.length).toBe(1);
    expect(map.df).toBe(2);
  });

  it('has no axes for one sample, equal profiles or nothing at all', () => {
    for (const table of [
      [],
      [[0, 0]],
      [[3, 4]],
      [
        [1, 2, 3],
        [2, 4, 6],
        [10, 20, 30],
      ],
    ]) {
      const map = correspondence({ table });
      expect(map.axes).toEqual([]);
      expect(map.totalInertia).toBe(0);
      for (const point of map.rows) expect(point.coordinates).toEqual([]);
    }
  });

  it('refuses half a count and uneven rows', () => {
    expect(() => correspondence({ table: [[1, 0.5]] })).toThrowError(StatsInputError);
    expect(() => correspondence({ table: [[1, 2], [1]] })).toThrowError(
      expect.objectContaining({ field: 'table[1].length' }),
    );
    expect(() => correspondence({ table: [[1, -2]] })).toThrowError(
      expect.objectContaining({ field: 'table[0][1]' }),
    );
  });
});

describe('singular values', () => {
  it('put the matrix together again, with right angles on both sides', () => {
    const matrix = fc
      .record({ r: fc.integer({ min: 1, max: 6 }), c: fc.integer({ min: 1, max: 6 }) })
      .chain(({ r, c }) =>
        fc.array(fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: c, maxLength: c }), {
          minLength: r,
          maxLength: r,
        }),
      );
    fc.assert(
      fc.property(matrix, (a) => {
        const { values, left, right } = singularValues(a);
        a.forEach((row, i) =>
          row.forEach((entry, j) => {
            const sum = values.reduce((s, d, q) => s + (left[q]?.[i] ?? 0) * d * (right[q]?.[j] ?? 0), 0);
            expectWithin(sum, entry, 1e-12 * (1 + (values[0] ?? 0)));
          }),
        );
        values.forEach((value, q) => {
          if (q > 0) expect(value).toBeLessThanOrEqual(values[q - 1] ?? NaN);
          if (value < 1e-9) return;
          values.forEach((other, p) => {
            if (other < 1e-9) return;
            const dot = (x: number[] = [], y: number[] = []) => x.reduce((s, v, i) => s + v * (y[i] ?? 0), 0);
            expectWithin(dot(left[q], left[p]), p === q ? 1 : 0, 1e-10);
            expectWithin(dot(right[q], right[p]), p === q ? 1 : 0, 1e-10);
          });
        });
      }),
    );
  });
});

/** Ballots of invented assessors: sample s favours descriptors near s, by whole-number arithmetic. */
function inventedBallots(assessors: number, samples: number, descriptors: number): number[][][] {
  return Array.from({ length: assessors }, (_, i) =>
    Array.from({ length: samples }, (_s, s) =>
      Array.from({ length: descriptors }, (_d, d) =>
        Number((i * 7 + s * 5 + d * 3 + i * s * d) % 11 < (d % samples === s ? 7 : 3)),
      ),
    ),
  );
}

describe('bootstrap ellipses', () => {
  const ballots = inventedBallots(25, 4, 9);

  it('are those of the same draws done by hand: tables, profiles, covariance', () => {
    const { map, ellipses } = correspondenceEllipses({
      ballots,
      level: 0.95,
      resamples: 300,
      random: random(),
    });
    const draw = fastRandom(random());
    const clouds = map.rows.map(() => [] as [number, number][]);
    for (let turn = 0; turn < 300; turn += 1) {
      const drawn = ballots.map(() => ballots[draw(ballots.length)] ?? []);
      const { table } = ballotTable(drawn);
      map.rows.forEach(({ index }, at) => {
        const row = table[index] ?? [];
        const sum = row.reduce((a, b) => a + b, 0);
        const on = (axis: number) =>
          map.columns.reduce((s, c) => s + ((row[c.index] ?? 0) / sum) * (c.coordinates[axis] ?? NaN), 0) /
          Math.sqrt(map.axes[axis]?.inertia ?? NaN);
        clouds[at]?.push([on(0), on(1)]);
      });
    }
    expect(ellipses?.length).toBe(4);
    ellipses?.forEach((ellipse, at) => {
      const points = clouds[at] ?? [];
      const mean = (f: (p: [number, number]) => number) =>
        points.reduce((s, p) => s + f(p), 0) / points.length;
      const [mx, my] = [mean(([x]) => x), mean(([, y]) => y)];
      const over = points.length / (points.length - 1);
      const xx = over * mean(([x]) => (x - mx) ** 2);
      const yy = over * mean(([, y]) => (y - my) ** 2);
      const xy = over * mean(([x, y]) => (x - mx) * (y - my));
      expectWithin(ellipse.centre[0], mx, 1e-12);
      expectWithin(ellipse.centre[1], my, 1e-12);
      // Eigenvalues by trace, determinant and direction; 2 x 25 / 23 F(0.95; 2, 23) by SciPy 1.17.1, stats.f.isf.
      const [long, short] = ellipse.halfAxes.map((half) => half ** 2 / 7.4394178431764715);
      expectRelative((long ?? NaN) + (short ?? NaN), xx + yy, 1e-9);
      expectRelative((long ?? NaN) * (short ?? NaN), xx * yy - xy * xy, 1e-9);
      const [c, s] = [Math.cos(ellipse.angle), Math.sin(ellipse.angle)];
      expectWithin(xx * c + xy * s, (long ?? NaN) * c, 1e-9);
      expectWithin(xy * c + yy * s, (long ?? NaN) * s, 1e-9);
      expect(ellipse.resamples).toBe(300);
    });
  });

  it('lie around the points of the map, shrink with more assessors, and repeat with the seed', () => {
    const make = (list: number[][][]) =>
      correspondenceEllipses({ ballots: list, level: 0.9, resamples: 400, random: random(3) });
    const { map, ellipses } = make(ballots);
    ellipses?.forEach(({ centre, halfAxes: [long] }, at) => {
      expectWithin(centre[0], map.rows[at]?.coordinates[0] ?? NaN, 0.3 * long);
      expectWithin(centre[1], map.rows[at]?.coordinates[1] ?? NaN, 0.3 * long);
    });
    const ninefold = Array.from({ length: 9 }, () => ballots).flat();
    const smaller = make(ninefold).ellipses;
    ellipses?.forEach(({ halfAxes }, at) => {
      const ratio = halfAxes[0] / (smaller?.[at]?.halfAxes[0] ?? NaN);
      // A third by the root of n, a little less by the F quantile; within what 400 draws leave open.
      expect(ratio).toBeGreaterThan(2.7);
      expect(ratio).toBeLessThan(4);
    });
    expect(make(ballots).ellipses).toEqual(ellipses);
  });

  it('are points when all assessors are alike, and missing on a line', () => {
    const alike = Array.from({ length: 6 }, () => [
      [1, 0, 0, 1],
      [0, 1, 0, 1],
      [0, 0, 1, 1],
    ]);
    const { ellipses } = correspondenceEllipses({
      ballots: alike,
      level: 0.95,
      resamples: 100,
      random: random(),
    });
    expect(ellipses?.length).toBe(3);
    for (const { halfAxes } of ellipses ?? []) for (const half of halfAxes) expect(half).toBeLessThan(1e-7);
    const line = correspondenceEllipses({
      ballots: [
        [
          [1, 0],
          [0, 1],
        ],
        [
          [1, 1],
          [0, 1],
        ],
      ],
      level: 0.95,
      resamples: 100,
      random: random(),
    });
    expect(line.ellipses).toBeNull();
  });

  it('hold the true point about as often as their comment says: 0.88 of 0.95 for 20 assessors (seed 8)', () => {
    const draw = fastRandom(random(8));
    const chance = (sample: number, descriptor: number) => (descriptor % 4 === sample ? 65 : 15);
    const descriptors = Array.from({ length: 10 }, (_, j) => j);
    const shares = [0, 1, 2, 3].map((s) => {
      const all = descriptors.reduce((sum, j) => sum + chance(s, j), 0);
      return descriptors.map((j) => chance(s, j) / all);
    });
    let held = 0;
    let total = 0;
    for (let panel = 0; panel < 150; panel += 1) {
      const drawn = Array.from({ length: 20 }, () =>
        shares.map((_, s) => descriptors.map((j) => Number(draw(100) < chance(s, j)))),
      );
      const { map, ellipses } = correspondenceEllipses({
        ballots: drawn,
        level: 0.95,
        resamples: 200,
        random: random(panel),
      });
      for (const { index, centre, halfAxes, angle } of ellipses ?? []) {
        const [dx, dy] = [0, 1].map((axis) => {
          const at = map.columns.reduce(
            (s, c) => s + (shares[index]?.[c.index] ?? 0) * (c.coordinates[axis] ?? 0),
            0,
          );
          return at / Math.sqrt(map.axes[axis]?.inertia ?? NaN) - (centre[axis] ?? NaN);
        });
        const [c, s] = [Math.cos(angle), Math.sin(angle)];
        const along = ((dx ?? NaN) * c + (dy ?? NaN) * s) / halfAxes[0];
        const across = ((dy ?? NaN) * c - (dx ?? NaN) * s) / halfAxes[1];
        held += Number(along ** 2 + across ** 2 <= 1);
        total += 1;
      }
    }
    expect(total).toBe(600);
    expect(held / total).toBeGreaterThan(0.82);
    expect(held / total).toBeLessThan(0.95);
  });

  it('need three assessors', () => {
    const two = correspondenceEllipses({
      ballots: ballots.slice(0, 2),
      level: 0.95,
      resamples: 100,
      random: random(),
    });
    expect(two.map.axes.length).toBeGreaterThan(1);
    expect(two.ellipses).toBeNull();
  });

  it('count the resamples in which a sample had any descriptor', () => {
    const rare = [...inventedBallots(6, 3, 5), [[0, 0, 0, 0, 0], null, [1, 0, 0, 0, 0]]].map((assessor, i) =>
      assessor.map((ballot, s) => (s === 1 && i > 0 ? null : ballot)),
    );
    const { ellipses } = correspondenceEllipses({
      ballots: rare,
      level: 0.95,
      resamples: 200,
      random: random(),
    });
    const used = ellipses?.find(({ index }) => index === 1)?.resamples ?? NaN;
    expect(used).toBeGreaterThan(90);
    expect(used).toBeLessThan(180);
  });

  it('refuse uneven ballots, a 2 and too few resamples', () => {
    const make = (list: number[][][], resamples = 100) =>
      correspondenceEllipses({ ballots: list, level: 0.95, resamples, random: random() });
    for (const [list, field] of [
      [
        [
          [[1, 0]],
          [
            [1, 0],
            [1, 1],
          ],
        ],
        'ballots[1].length',
      ],
      [[[[1, 0], [1]]], 'ballots[0][1].length'],
      [[[[1, 2]]], 'ballots[0][0][1]'],
    ] as const) {
      expect(() => make(list as unknown as number[][][])).toThrowError(expect.objectContaining({ field }));
    }
    expect(() => make(ballots, 10)).toThrowError(expect.objectContaining({ field: 'resamples' }));
  });
});

describe('test of all descriptors together', () => {
  it('estimates what dealing every ballot in every order gives', () => {
    const ballots = [
      [
        [1, 0, 1],
        [0, 1, 0],
        [0, 0, 1],
      ],
      [
        [1, 0, 0],
        [0, 1, 1],
        [1, 0, 1],
      ],
      [
        [1, 1, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
    ];
    const orders = [
      [0, 1, 2],
      [0, 2, 1],
      [1, 0, 2],
      [1, 2, 0],
      [2, 0, 1],
      [2, 1, 0],
    ];
    const chiSquare = (list: number[][][]) => correspondence({ table: ballotTable(list).table }).chiSquare;
    const seen = chiSquare(ballots);
    let hits = 0;
    for (const a of orders) {
      for (const b of orders) {
        for (const c of orders) {
          const dealt = [a, b, c].map((order, i) => order.map((s) => ballots[i]?.[s] ?? []));
          if (chiSquare(dealt) >= seen * (1 - 1e-10)) hits += 1;
        }
      }
    }
    const exact = hits / 216;
    const ours = profileTest({ ballots, random: random(), permutations: 9999 });
    expectRelative(ours.chiSquare, seen, 1e-12);
    expect(exact).toBeGreaterThan(0.01);
    expect(exact).toBeLessThan(0.9);
    expect(Math.abs(ours.p - exact)).toBeLessThan(5 * Math.sqrt((exact * (1 - exact)) / 9999) + 1e-4);
  });

  it('finds samples that differ and lets be those that do not', () => {
    expect(profileTest({ ballots: inventedBallots(25, 4, 9), random: random(), permutations: 999 }).p).toBe(
      0.001,
    );
    const alike = inventedBallots(25, 1, 9).map(([ballot]) => [ballot ?? [], ballot ?? [], ballot ?? []]);
    expect(profileTest({ ballots: alike, random: random(), permutations: 199 }).p).toBe(1);
  });

  it('holds its level: p is even over panels without a difference (400 panels, seed 11)', () => {
    const draw = fastRandom(random(11));
    const source = random(12);
    let significant = 0;
    for (let panel = 0; panel < 400; panel += 1) {
      // Assessors differ in what they choose, samples do not.
      const ballots = Array.from({ length: 8 }, () => {
        const habit = Array.from({ length: 5 }, () => 10 + draw(70));
        return Array.from({ length: 3 }, () => habit.map((percent) => Number(draw(100) < percent)));
      });
      if (profileTest({ ballots, random: source, permutations: 99 }).p <= 0.1) significant += 1;
    }
    // 40 expected, standard error 6.
    expect(Math.abs(significant - 40)).toBeLessThan(24);
  });

  it('has nothing to say without choices or with one sample each; missing ballots stay missing', () => {
    const test = (ballots: (number[] | null)[][]) =>
      profileTest({ ballots, random: random(), permutations: 99 });
    expect(test([])).toMatchObject({ p: 1, chiSquare: null, informative: 0 });
    expect(
      test([
        [
          [0, 0],
          [0, 0],
        ],
      ]),
    ).toMatchObject({ p: 1, chiSquare: null });
    expect(
      test([
        [[1, 0], null],
        [null, [0, 1]],
      ]),
    ).toMatchObject({ p: 1, informative: 0 });
    expect(test([[[1, 0], null, [0, 1]]]).informative).toBe(1);
    expect(() => profileTest({ ballots: [], random: random(), permutations: 5 })).toThrowError(
      StatsInputError,
    );
  });
});
