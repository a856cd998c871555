import type { PartResult } from '../contracts/result.ts';

/** A table or figure of a part that there is, and that is told not at all or not whole. */
export interface Untold {
  part: number;
  /** Its place in the part, without numbers of rows: 'descriptors.rows', 'samples.rankSum'. */
  figure: string;
}

// Written anew for readers, or left out of every publication: that they are shorter says nothing.
const NOT_COMPARED: ReadonlySet<string> = new Set(['caveats', 'methods', 'comments', 'ownWords', 'finding']);
// That there are any would say something of marks or words that are not told.
const NEVER_SAID: ReadonlySet<string> = new Set(['cautions', 'unchecked', 'rare']);

/**
 * What a part had that readers do not get, so that a page can say 'withheld' where it would otherwise have to say 'none'. Told is
 * that something is missing, never how much. Sorted by name.
 */
export function untoldOf(whole: PartResult, told: PartResult): Untold[] {
  const found = new Set<string>();
  compare(whole, told, '', found);
  return [...found].sort().map((figure) => ({ part: whole.part, figure }));
}

function compare(whole: unknown, told: unknown, at: string, found: Set<string>): void {
  if (whole === null || whole === undefined) return;
  if (told === null || told === undefined) {
    found.add(at);
    return;
  }
  if (Array.isArray(whole)) {
    if (!Array.isArray(told)) return;
    const all: unknown[] = whole;
    const rows: unknown[] = told;
    if (rows.length < all.length) found.add(at);
    // Rows that are gone leave the others at other places: those that are left are found by their name.
    for (const [index, value] of all.entries()) {
      const name = nameOf(value);
      const row =
        rows.length === all.length ? rows[index] : rows.find((one) => name !== null && nameOf(one) === name);
      if (row !== undefined) compare(value, row, at, found);
    }
    return;
  }
  if (typeof whole !== 'object' || typeof told !== 'object') return;
  for (const [name, value] of Object.entries(whole)) {
    if (NEVER_SAID.has(name) || (at === '' && NOT_COMPARED.has(name))) continue;
    compare(value, (told as Record<string, unknown>)[name], at === '' ? name : `${at}.${name}`, found);
  }
}

/** What a row of a table is known by; null where it has no name. */
function nameOf(row: unknown): string | null {
  if (typeof row !== 'object' || row === null) return null;
  const { id, key, name, sample } = row as Record<string, unknown>;
  const found = id ?? key ?? sample ?? name;
  return typeof found === 'string' ? found : null;
}
