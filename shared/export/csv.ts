// The browser build: it runs in browser and server alike, where the other one reaches for node:stream and Buffer.
import { stringify } from 'csv-stringify/browser/esm/sync';

export type Cell = string | number | boolean | null;

/**
 * Rows as CSV for a data package (RFC 4180: header, CRLF, quotes where needed; UTF-8). An empty cell says null. Numbers
 * stand as ECMAScript writes them, so that reading them back gives the same number. Without a byte order mark, which
 * base R would read into the name of the first column. Texts that a spreadsheet would take for a formula get an
 * apostrophe in front: hosts and assessors write them.
 */
export function csvText(rows: readonly Readonly<Record<string, Cell>>[], columns: readonly string[]): string {
  return stringify([...rows], {
    header: true,
    columns: [...columns],
    record_delimiter: 'windows',
    // By itself the library quotes only the whole record delimiter, and a bare line feed would end the record.
    quoted_match: /[\r\n]/,
    escape_formulas: true,
    cast: { boolean: (value) => String(value) },
  });
}
