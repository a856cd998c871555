/** Values JSON can hold. */
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

/**
 * Canonical JSON: one text for one value, so that a hash of it means the value. Keys sorted by UTF-16 code units,
 * numbers as ECMAScript writes them, no white space, strings exactly as they are: RFC 8785 forbids changing them, and
 * a reader who checks a hash with any other implementation must get the same bytes. Bring text into one spelling
 * with `normalised` before it is hashed, never while.
 * @throws RangeError for what I-JSON (RFC 7493) cannot hold: NaN, infinities, undefined, functions, bigints, lone
 * surrogates, holes in arrays, and objects that are not plain (a date would silently become `{}`).
 * Source: RFC 8785, sections 3.2.2 (texts and numbers) and 3.2.3 (order of keys).
 */
export function canonicalJson(value: unknown): string {
  if (value === null || typeof value === 'boolean') return JSON.stringify(value);
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new RangeError(`JSON cannot hold ${value}`);
    return JSON.stringify(value);
  }
  if (typeof value === 'string') return canonicalString(value);
  // Array.from visits holes as undefined, which is then refused; map would skip them and leave broken text.
  if (Array.isArray(value)) return `[${Array.from(value, (member) => canonicalJson(member)).join(',')}]`;
  if (typeof value === 'object') {
    // Strings compare by UTF-16 code units here, which is the order section 3.2.3 asks for.
    const members = plainEntries(value)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, member]) => `${canonicalString(key)}:${canonicalJson(member)}`);
    return `{${members.join(',')}}`;
  }
  throw new RangeError(`JSON cannot hold a ${typeof value}`);
}

/**
 * A deep copy with every text, keys included, in Unicode normalisation form C, so that two spellings of one name do
 * not give two hashes. Source: Unicode Standard Annex 15; RFC 8785 section 3.1 leaves this to whoever makes the data.
 * @throws RangeError for what `canonicalJson` refuses, and for two keys that become one.
 */
export function normalised(value: unknown): Json {
  if (typeof value === 'string') return wellFormed(value).normalize('NFC');
  if (Array.isArray(value)) return Array.from(value, (member) => normalised(member));
  if (typeof value === 'object' && value !== null) {
    const entries = plainEntries(value).map(
      ([key, member]) => [wellFormed(key).normalize('NFC'), normalised(member)] as const,
    );
    if (new Set(entries.map(([key]) => key)).size !== entries.length) {
      throw new RangeError('two keys of an object are the same text in two spellings');
    }
    return Object.fromEntries(entries);
  }
  return JSON.parse(canonicalJson(value)) as Json;
}

function plainEntries(value: object): [string, unknown][] {
  const prototype: unknown = Object.getPrototypeOf(value);
  if (prototype !== null && prototype !== Object.prototype) {
    throw new RangeError('JSON cannot hold an object that is not plain');
  }
  return Object.entries(value);
}

function wellFormed(value: string): string {
  if (!value.isWellFormed()) throw new RangeError('a text has a lone surrogate');
  return value;
}

function canonicalString(value: string): string {
  return JSON.stringify(wellFormed(value));
}
