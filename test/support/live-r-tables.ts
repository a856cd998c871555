import { cohenKappa } from '@oddglass/shared/stats/agreement/cohen-kappa.ts';
import { intraclassCorrelation, type IccForm } from '@oddglass/shared/stats/agreement/icc.ts';
import { cochranQ } from '@oddglass/shared/stats/descriptor/cochran-q.ts';
import { correspondence } from '@oddglass/shared/stats/descriptor/correspondence.ts';
import { mcnemarExact } from '@oddglass/shared/stats/descriptor/mcnemar.ts';
import { benjaminiHochberg, bonferroni, holm } from '@oddglass/shared/stats/multiplicity.ts';
import { friedman } from '@oddglass/shared/stats/ranking/friedman.ts';
import { kendallW } from '@oddglass/shared/stats/ranking/kendall-w.ts';
import { page } from '@oddglass/shared/stats/ranking/page.ts';
import { type Draw, type LiveMethod, Pairing } from './live-r.ts';

const EXACT = 1e-12;
const CONTINUOUS = 1e-9;
const FORMS: IccForm[] = ['1,1', '2,1', '3,1', '1,k', '2,k', '3,k'];

/** Rows of a table that stands in one line, after its size. */
function rowsOf([n = 0, k = 0, ...values]: readonly number[]): number[][] {
  return Array.from({ length: n }, (_, i) => values.slice(i * k, (i + 1) * k));
}

/** A table of n x k in one line, after its size. */
function tableLine(draw: Draw, n: number, k: number, one: (row: number, column: number) => number): number[] {
  return [n, k, ...draw.list(n * k, (index) => one(Math.floor(index / k), index % k))];
}

export const tables: LiveMethod[] = [
  {
    name: 'friedman',
    // Few values on a scale of seven: most rows have ties.
    input: (draw) =>
      tableLine(draw, draw.whole(3, 30), draw.whole(3, 8), (_, j) => draw.whole(1, 7) + (j % 2)),
    compare: (input, theirs) => {
      const rows = rowsOf(input);
      const ours = friedman({ rows });
      return new Pairing(theirs)
        .relative(EXACT * 10, 'chi-square', ours.chiSquare)
        .relative(CONTINUOUS, 'p by chi-square', ours.pChiSquare)
        .relative(EXACT * 10, "Kendall's W", kendallW({ rows }).w).all;
    },
  },
  {
    name: 'cochran',
    input: (draw) => {
      const share = draw.between(0.1, 0.9);
      return tableLine(draw, draw.whole(2, 60), draw.whole(2, 8), () => (draw.unit() < share ? 1 : 0));
    },
    compare: (input, theirs) => {
      const ours = cochranQ({ rows: rowsOf(input) });
      return new Pairing(theirs)
        .relative(EXACT, 'Q', ours.q)
        .relative(CONTINUOUS, 'p by chi-square', ours.pChiSquare).all;
    },
  },
  {
    name: 'mcnemar',
    input: (draw) => [draw.whole(0, 80), draw.whole(1, 80)],
    compare: ([onlyFirst = 0, onlySecond = 0], theirs) =>
      new Pairing(theirs).relative(EXACT, 'p', mcnemarExact({ onlyFirst, onlySecond }).p).all,
  },
  {
    name: 'adjust',
    input: (draw) => {
      const m = draw.whole(1, 40);
      // Some values twice.
      const p = draw.list(m, () => draw.logBetween(1e-6, 1));
      return [m, ...p.map((value, at) => (at > 0 && draw.unit() < 0.1 ? (p[0] ?? value) : value))];
    },
    compare: ([, ...p], theirs) => {
      const pairing = new Pairing(theirs);
      for (const adjusted of [holm({ p }), benjaminiHochberg({ p }), bonferroni({ p })]) {
        for (const value of adjusted.adjusted) pairing.relative(EXACT, adjusted.method, value);
      }
      return pairing.all;
    },
  },
  {
    name: 'page',
    input: (draw) =>
      tableLine(draw, draw.whole(2, 6), draw.whole(3, 5), (_, j) => draw.whole(1, 6) + Math.floor(j / 2)),
    compare: (input, theirs) => {
      const rows = rowsOf(input);
      const predicted = (rows[0] ?? []).map((_, j) => j);
      const ours = page({ rows, predicted });
      // At the mean z is 0 up to rounding. All of these tables are small enough for the exact p.
      return new Pairing(theirs)
        .relative(EXACT, 'L', ours.l)
        .absolute(EXACT, 'z', ours.z)
        .relative(CONTINUOUS, 'p by the normal distribution', ours.pNormal)
        .relative(EXACT, 'exact p', ours.p).all;
    },
  },
  {
    name: 'icc',
    input: (draw) => {
      const [n, k] = [draw.whole(4, 20), draw.whole(2, 8)];
      const units = draw.list(n, () => 15 * draw.bell());
      const people = draw.list(k, () => 8 * draw.bell());
      return tableLine(draw, n, k, (i, j) =>
        Math.round(50 + (units[i] ?? 0) + (people[j] ?? 0) + 8 * draw.bell()),
      );
    },
    compare: (input, theirs) => {
      const { forms } = intraclassCorrelation({ ratings: rowsOf(input), level: 0.95 });
      const pairing = new Pairing(theirs);
      // Absolute: a correlation may be near 0, where mean squares cancel.
      for (const part of ['estimate', 'lower', 'upper'] as const) {
        for (const form of FORMS) pairing.absolute(CONTINUOUS, `${form} ${part}`, forms[form][part]);
      }
      return pairing.all;
    },
  },
  {
    name: 'cohen',
    input: (draw) => {
      const c = draw.whole(2, 6);
      return [c, ...draw.list(c * c, (at) => draw.whole(at % (c + 1) === 0 ? 4 : 0, 30))];
    },
    compare: ([c = 0, ...counts], theirs) => {
      const ours = cohenKappa({ table: rowsOf([c, c, ...counts]), level: 0.95 });
      return new Pairing(theirs)
        .absolute(EXACT, 'kappa', ours.kappa)
        .relative(CONTINUOUS, 'standard error', ours.standardError).all;
    },
  },
  {
    name: 'correspondence',
    input: (draw) => tableLine(draw, draw.whole(3, 8), draw.whole(3, 12), () => draw.whole(1, 40)),
    compare: (input, theirs) => {
      const ours = correspondence({ table: rowsOf(input) });
      const pairing = new Pairing(theirs);
      for (const { inertia } of ours.axes) pairing.absolute(EXACT, 'inertia', inertia);
      // The sign of an axis is free. Two axes of nearly equal inertia turn into each other within rounding.
      for (const point of [...ours.rows, ...ours.columns]) {
        for (const place of point.coordinates) pairing.absolute(CONTINUOUS, 'coordinate', Math.abs(place));
      }
      return pairing.all;
    },
  },
];
