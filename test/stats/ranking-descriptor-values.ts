import { readFileSync } from 'node:fs';

/** test/reference/ranking-descriptor-values.json, written by the script beside it; see there for libraries and seed. */
interface Values {
  about: string;
  chiSquare: { df: number; x: number; upper: number; lower: number }[];
  friedman: { rows: number[][]; chiSquare: number; pChiSquare: number; exact: number; pF: number | null }[];
  page: { rows: number[][]; l: number; exact: number; normal: number | null }[];
  cochran: { rows: number[][]; q: number; pChiSquare: number; exact: number }[];
  correspondence: {
    table: number[][];
    inertias: number[];
    rows: number[][];
    columns: number[][];
    chiSquare: number;
  }[];
  adjusted: { p: number[]; holm: number[]; bh: number[] }[];
  /** Estimate, standard error, lower limit at 0.95, p. */
  lift: { chosen: number[][]; liking: number[][]; lift: number[]; within: number[] }[];
}

const file = new URL('../reference/ranking-descriptor-values.json', import.meta.url);
export const computed = JSON.parse(readFileSync(file, 'utf8')) as Values;
