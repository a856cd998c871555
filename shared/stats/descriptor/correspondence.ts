import { chiSquareUpper } from '../chi-square.ts';
import { answerCount, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { singularValues } from './singular-values.ts';

export interface CorrespondencePoint {
  /** Row or column of the table given, 0-based. */
  index: number;
  /** Its share of all counts. */
  mass: number;
  /** Its part of the total inertia. */
  inertia: number;
  /** Principal coordinates, one per axis. */
  coordinates: number[];
  /** Its share of each axis' inertia; over all points 1. */
  contributions: number[];
  /** Share of its own inertia that each axis shows (squared cosine); over all axes 1. Null for a point at the centre. */
  quality: number[] | null;
}

export interface CorrespondenceAxis {
  inertia: number;
  /** Of the total inertia, 0 to 1. */
  share: number;
}

export interface Correspondence extends MethodFacts {
  axes: CorrespondenceAxis[];
  rows: CorrespondencePoint[];
  columns: CorrespondencePoint[];
  /** Without any count, left out. */
  emptyRows: number[];
  emptyColumns: number[];
  total: number;
  totalInertia: number;
  /** total x total inertia, with its degrees of freedom. */
  chiSquare: number;
  df: number;
  /** Valid for independent counts only: never for totals in which one assessor has several marks (take profileTest). */
  pIndependent: number | null;
}

/** Axes with a singular value below this are rounding. */
const MIN_VALUE = 1e-12;

/**
 * Correspondence analysis of a table of counts, samples by descriptors: a map on which samples of like profiles lie close.
 * P = N / n, r and c its margins; S = Dr^-1/2 (P - r c') Dc^-1/2 = U D V'; principal coordinates F = Dr^-1/2 U D and
 * G = Dc^-1/2 V D; inertia of an axis d^2, total = chi-square / n. At most min(rows, columns) - 1 axes.
 * Distances between a row and a column mean nothing; rare descriptors pull the axes; one axis must not be drawn as a plane.
 * The sign of an axis is arbitrary: here the row farthest out, the first of several, lies on the positive side.
 *
 * table: whole counts from 0, rows of one length. Rows and columns without counts are left out and listed. No counts: no
 * axes. Errors: StatsInputError.
 * Source: Greenacre 1984, Theory and Applications of Correspondence Analysis; Nenadic & Greenacre 2007, J. Stat. Softw. 20(3).
 * Example: `correspondence({ table: [[4, 2, 3, 2], [4, 3, 7, 4], [25, 10, 12, 4], [18, 24, 33, 13], [10, 6, 7, 2]] }).axes[0].inertia` is 0.0747591058858
 */
export function correspondence({ table }: { table: readonly (readonly number[])[] }): Correspondence {
  const width = table[0]?.length ?? 0;
  table.forEach((row, i) => {
    if (row.length !== width)
      throw new StatsInputError(`table[${i}].length`, row.length, `${width}, as in the first`);
    row.forEach((count, j) => answerCount(`table[${i}][${j}]`, count));
  });
  const rowSums = table.map((row) => row.reduce((a, b) => a + b, 0));
  const columnSums = Array.from({ length: width }, (_, j) =>
    table.reduce((sum, row) => sum + (row[j] ?? 0), 0),
  );
  const total = rowSums.reduce((a, b) => a + b, 0);
  const rows = fullOnes(rowSums);
  const columns = fullOnes(columnSums);
  const s = rows.map((i) =>
    columns.map((j) => {
      const [sumI, sumJ] = [rowSums[i] ?? 0, columnSums[j] ?? 0];
      // (P - r c') / sqrt(r c), its numerator in whole numbers: independence gives exactly 0.
      return ((table[i]?.[j] ?? 0) * total - sumI * sumJ) / (total * Math.sqrt(sumI * sumJ));
    }),
  );
  const { values, left, right } = singularValues(s);
  const most = Math.max(0, Math.min(rows.length, columns.length) - 1);
  const kept = values.slice(0, most).filter((value) => value > MIN_VALUE);
  const signs = kept.map((_, axis) =>
    signOf(rows.map((i, at) => (left[axis]?.[at] ?? 0) / Math.sqrt(rowSums[i] ?? 1))),
  );
  const totalInertia = s.flat().reduce((sum, value) => sum + value * value, 0);
  const df = most === 0 ? 0 : (rows.length - 1) * (columns.length - 1);
  const points = (indices: number[], sums: number[], vectors: number[][], inertias: number[]) =>
    indices.map((index, at) => {
      const mass = (sums[index] ?? 0) / total;
      const unit = kept.map((_, axis) => (signs[axis] ?? 1) * (vectors[axis]?.[at] ?? 0));
      const inertia = inertias[at] ?? 0;
      const parts = unit.map((entry, axis) => (entry * (kept[axis] ?? 0)) ** 2);
      const shown = parts.reduce((a, b) => a + b, 0);
      return {
        index,
        mass,
        inertia,
        coordinates: unit.map((entry, axis) => (entry * (kept[axis] ?? 0)) / Math.sqrt(mass)),
        contributions: unit.map((entry) => entry * entry),
        quality: shown > MIN_VALUE ** 2 ? parts.map((part) => part / shown) : null,
      };
    });
  return {
    axes: kept.map((value) => ({ inertia: value * value, share: (value * value) / totalInertia })),
    rows: points(
      rows,
      rowSums,
      left,
      s.map((row) => row.reduce((sum, value) => sum + value * value, 0)),
    ),
    columns: points(
      columns,
      columnSums,
      right,
      columns.map((_, j) => s.reduce((sum, row) => sum + (row[j] ?? 0) ** 2, 0)),
    ),
    emptyRows: rowSums.flatMap((sum, i) => (sum === 0 ? [i] : [])),
    emptyColumns: columnSums.flatMap((sum, j) => (sum === 0 ? [j] : [])),
    total,
    totalInertia,
    chiSquare: total * totalInertia,
    df,
    pIndependent: df === 0 ? null : chiSquareUpper(total * totalInertia, df),
    method: 'Correspondence analysis, principal coordinates',
    assumption: 'Counts are compared by their profiles; the map describes and tests nothing.',
    source: 'Greenacre 1984; Nenadic & Greenacre 2007',
  };
}

function fullOnes(sums: readonly number[]): number[] {
  return sums.flatMap((sum, index) => (sum > 0 ? [index] : []));
}

function signOf(entries: readonly number[]): number {
  let farthest = 0;
  for (const entry of entries) if (Math.abs(entry) > Math.abs(farthest) * (1 + 1e-9)) farthest = entry;
  return farthest < 0 ? -1 : 1;
}
