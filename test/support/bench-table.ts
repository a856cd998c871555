/** One analysis; times in milliseconds. */
export interface BenchRow {
  task: string;
  what: string;
  /** First run, engine cold. */
  first: number;
  /** Median of all runs. */
  ms: number;
  times: number[];
  r: { ms: number; times: number[]; packages: string } | null;
  /** R's median over ours; above 1: we are faster. */
  ratio: number | null;
  /** Largest difference of results, relative to those above 1. */
  apart: number | null;
  /** At once, in slices on the same thread, and in a worker. */
  ways: Record<'inline' | 'slices' | 'worker', { ms: number; held: number; still: number }>;
}

/** The middle value; of an even number the mean of the two middle ones. NaN for none. */
export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const middle = sorted.length / 2;
  return ((sorted[Math.ceil(middle) - 1] ?? NaN) + (sorted[Math.floor(middle)] ?? NaN)) / 2;
}

/** The rows as a table in plain text. */
export function benchTable(rows: readonly BenchRow[]): string {
  const ms = (value: number | undefined) => (value === undefined ? '-' : value.toFixed(0));
  const head = [
    'analysis',
    'first ms',
    'median ms',
    'R ms',
    'R / ours',
    'results apart',
    'held ms inline',
    'slices',
    'worker',
    'R with',
  ];
  const lines = rows.map((row) => [
    row.what,
    ms(row.first),
    ms(row.ms),
    ms(row.r?.ms),
    row.ratio === null ? '-' : row.ratio.toFixed(1),
    row.apart === null ? '-' : row.apart.toExponential(0),
    ms(row.ways.inline.held),
    ms(row.ways.slices.held),
    ms(row.ways.worker.held),
    row.r?.packages ?? '-',
  ]);
  const all = [head, ...lines];
  const widths = head.map((_, column) => Math.max(...all.map((line) => line[column]?.length ?? 0)));
  const last = head.length - 1;
  return all
    .map((line) =>
      line
        .map((cell, column) =>
          column === 0 || column === last
            ? cell.padEnd(widths[column] ?? 0)
            : cell.padStart(widths[column] ?? 0),
        )
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}
