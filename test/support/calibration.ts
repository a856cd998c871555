/** One claim of a method beside what happened when panels were simulated. */
export interface CalibrationRow {
  /** `alarm`: should not exceed the promise. `coverage`: should not fall below it. `prediction`: should meet it. */
  kind: 'alarm' | 'coverage' | 'prediction';
  method: string;
  setting: string;
  promised: number;
  simulated: number;
  /** Standard error of `simulated` by chance alone. */
  error: number;
  runs: number;
  /**
   * `holds`: as promised within chance (coverage and predictions: within a point). `cautious`: on the safe side by more than
   * a point. `short`: worse than promised, as its documentation says of a large-sample method. `wrong`: worse though
   * the method is exact.
   */
  verdict: 'holds' | 'cautious' | 'short' | 'wrong';
}

/** Chance alone goes beyond this many standard errors once in 16,000. */
const ERRORS = 4;
const POINT = 0.01;

/**
 * Repeats `once` (a 0/1 outcome, or a share) and judges the mean. `exact`: the promise rests on no approximation, so
 * being worse than promised is an error of ours.
 */
export function calibrate({
  runs,
  once,
  ...claim
}: Pick<CalibrationRow, 'kind' | 'method' | 'setting' | 'promised'> & {
  exact: boolean;
  runs: number;
  once: () => boolean | number;
}): CalibrationRow {
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < runs; i += 1) {
    const value = Number(once());
    sum += value;
    squares += value * value;
  }
  const simulated = sum / runs;
  // A proportion of 0 or 1 is still known no better than to 1 / runs.
  const error = Math.max(Math.sqrt(Math.max(0, squares / runs - simulated ** 2) / runs), 1 / runs);
  const { exact, ...row } = claim;
  return {
    ...row,
    simulated,
    error,
    runs,
    verdict: verdict(row.kind, row.promised, simulated, error, exact),
  };
}

function verdict(
  kind: CalibrationRow['kind'],
  promised: number,
  simulated: number,
  error: number,
  exact: boolean,
): CalibrationRow['verdict'] {
  const chance = ERRORS * error;
  const bad = exact ? 'wrong' : 'short';
  if (kind === 'prediction')
    return Math.abs(simulated - promised) <= Math.max(chance, exact ? 0 : POINT) ? 'holds' : bad;
  // Positive: on the unsafe side.
  const worse = kind === 'alarm' ? simulated - promised : promised - simulated;
  if (worse > chance + (exact ? 0 : POINT)) return bad;
  return -worse > chance + POINT ? 'cautious' : 'holds';
}

/** Answers of `make` by key, so that what depends on counts only is worked out once. */
export function remembered<T>(make: (...key: number[]) => T): (...key: number[]) => T {
  const known = new Map<string, T>();
  return (...key) => {
    const name = key.join('/');
    const old = known.get(name);
    if (old !== undefined) return old;
    const value = make(...key);
    known.set(name, value);
    return value;
  };
}

/** Does an interval hold the truth? Null above: unbounded. */
export function holds({ lower, upper }: { lower: number; upper: number | null }, truth: number): boolean {
  return lower <= truth && (upper === null || truth <= upper);
}

/** The rows as a table in plain text. */
export function calibrationTable(rows: readonly CalibrationRow[]): string {
  const percent = (value: number) => `${(100 * value).toFixed(2)} %`;
  const lines = rows.map((row) => [
    row.kind,
    row.method,
    row.setting,
    row.kind === 'prediction' && row.promised > 1 ? row.promised.toFixed(2) : percent(row.promised),
    row.kind === 'prediction' && row.promised > 1 ? row.simulated.toFixed(2) : percent(row.simulated),
    row.promised > 1 ? row.error.toFixed(2) : percent(row.error),
    row.verdict,
  ]);
  const all = [['kind', 'method', 'setting', 'promised', 'simulated', 'error', 'verdict'], ...lines];
  const widths = all[0]?.map((_, column) => Math.max(...all.map((line) => line[column]?.length ?? 0))) ?? [];
  return all
    .map((line) =>
      line
        .map((cell, column) =>
          column >= 3 && column <= 5 ? cell.padStart(widths[column] ?? 0) : cell.padEnd(widths[column] ?? 0),
        )
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}
