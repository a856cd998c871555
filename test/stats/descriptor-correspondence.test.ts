import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  correspondence,
  type CorrespondencePoint,
} from '@oddglass/shared/stats/descriptor/correspondence.ts';
import { singularValues } from '@oddglass/shared/stats/descriptor/singular-values.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { computed } from './ranking-descriptor-values.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

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
