import { integerIn, MAX_ANSWERS, properProbability, StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalQuantile } from '../normal.ts';

export interface CohenKappa extends MethodFacts {
  /** Null without units, or when both assessors used one and the same category only. */
  kappa: number | null;
  /** Share of units on which the two agree, and what chance gives; null without units. Show it beside kappa. */
  observedAgreement: number | null;
  expectedAgreement: number | null;
  standardError: number | null;
  /** Limits within -1 to 1; null where the standard error is 0 or not defined. */
  lower: number | null;
  upper: number | null;
  level: number;
  n: number;
}

/**
 * Agreement of two assessors in naming categories, corrected for the chance that their own habits give.
 *
 * kappa = (po - pe) / (1 - pe), pe = sum of p_i. p_.i; standard error for large samples by Fleiss, Cohen & Everitt:
 * n (1 - pe)^2 SE^2 = sum p_ii [1 - (p_i. + p_.i)(1 - k)]^2 + (1 - k)^2 sum_{i != j} p_ij (p_.i + p_j.)^2 - [k - pe (1 - k)]^2;
 * limits kappa -+ z SE. Full agreement has SE 0, which is not certainty: no limits then.
 * Not for ordered categories, nor more than two assessors (fleissKappa). When nearly all is of one category kappa may be
 * near 0 although nearly all agree: gwetAc1 beside it shows that. Rows: categories of the first assessor, columns:
 * those of the second, in the same order; counts whole from 0; level between 0 and 1. Errors: StatsInputError.
 * Source: Cohen 1960, Educ. Psychol. Meas. 20:37; Fleiss, Cohen & Everitt 1969, Psychol. Bull. 72:323.
 * Example: `cohenKappa({ table: [[13, 0, 0], [0, 20, 7], [0, 4, 56]], level: 0.95 }).kappa` is 0.796409402184
 */
export function cohenKappa({
  table,
  level,
}: {
  table: readonly (readonly number[])[];
  level: number;
}): CohenKappa {
  properProbability('level', level);
  for (const row of table) {
    if (row.length !== table.length) {
      throw new StatsInputError(
        'table',
        `a row of ${row.length}`,
        `as many columns as rows, ${table.length}`,
      );
    }
    for (const count of row) integerIn('table', count, 0, MAX_ANSWERS);
  }
  const n = table.flat().reduce((sum, count) => sum + count, 0);
  const rows = table.map((row) => row.reduce((sum, count) => sum + count, 0) / n);
  const columns = table.map((_, j) => table.reduce((sum, row) => sum + (row[j] ?? 0), 0) / n);
  const observed = table.reduce((sum, row, i) => sum + (row[i] ?? 0), 0) / n;
  const expected = rows.reduce((sum, share, i) => sum + share * (columns[i] ?? 0), 0);
  // One shared category: chance alone gives full agreement.
  const open = n > 0 && !rows.some((share, i) => share === 1 && columns[i] === 1);
  const kappa = open ? (observed - expected) / (1 - expected) : null;
  const error = kappa === null ? null : standardError(table, { n, rows, columns, kappa, expected });
  const reach = error ? normalQuantile((1 + level) / 2) * error : null;
  return {
    kappa,
    observedAgreement: n > 0 ? observed : null,
    expectedAgreement: n > 0 ? expected : null,
    standardError: error,
    lower: kappa === null || reach === null ? null : Math.max(-1, kappa - reach),
    upper: kappa === null || reach === null ? null : Math.min(1, kappa + reach),
    level,
    n,
    method: "Cohen's kappa",
    assumption: 'Two assessors rated the same units independently; the interval is for many units.',
    source: 'Cohen 1960; Fleiss, Cohen & Everitt 1969',
  };
}

function standardError(
  table: readonly (readonly number[])[],
  {
    n,
    rows,
    columns,
    kappa,
    expected,
  }: { n: number; rows: number[]; columns: number[]; kappa: number; expected: number },
): number {
  let sum = -((kappa - expected * (1 - kappa)) ** 2);
  table.forEach((row, i) => {
    row.forEach((count, j) => {
      const share = count / n;
      sum +=
        i === j
          ? share * (1 - ((rows[i] ?? 0) + (columns[i] ?? 0)) * (1 - kappa)) ** 2
          : share * (1 - kappa) ** 2 * ((columns[i] ?? 0) + (rows[j] ?? 0)) ** 2;
    });
  });
  // What rounding leaves of a variance of 0.
  return sum < 1e-14 ? 0 : Math.sqrt(sum / n) / (1 - expected);
}
