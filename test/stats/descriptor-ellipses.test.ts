import { describe, expect, it } from 'vitest';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { ballotTable } from '@oddglass/shared/stats/descriptor/ballot-table.ts';
import { correspondenceEllipses } from '@oddglass/shared/stats/descriptor/correspondence-ellipses.ts';
import { fastRandom } from '@oddglass/shared/ground/fast-random.ts';
import { inventedBallots } from './descriptor-ballots.ts';
import { expectRelative, expectWithin } from './within.ts';

const random = (byte = 7) => seededRandom(new Uint8Array(32).fill(byte));

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
