import { stringify } from 'csv-stringify/sync';

/**
 * Rows as CSV (RFC 4180: header, CRLF, quotes where needed), in UTF-8 with a mark at the start that spreadsheets look for.
 * Texts that a spreadsheet would take for a formula get a quote in front: assessors write them.
 */
export function csvOf<T extends object>(rows: readonly T[], columns: readonly (keyof T & string)[]): string {
  return stringify([...rows], {
    header: true,
    columns: [...columns],
    record_delimiter: 'windows',
    bom: true,
    escape_formulas: true,
    cast: { boolean: (value) => String(value) },
  });
}
