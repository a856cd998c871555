/** Values JSON can hold. */
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

/**
 * Canonical JSON (RFC 8785): one text for one value, so that a hash of it means the value.
 * Keys by UTF-16 code units, numbers as ECMAScript writes them, no white space; strings are taken as NFC first,
 * because two spellings of one name must not give two hashes.
 * @throws RangeError for what I-JSON cannot hold: NaN, infinities, undefined, functions, lone surrogates.
 */
export function canonicalJson(value: unknown): string {
  if (value === null || typeof value === 'boolean') return JSON.stringify(value);
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new RangeError(`JSON cannot hold ${value}`);
    return JSON.stringify(value);
  }
  if (typeof value === 'string') return canonicalString(value);
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`;
  if (typeof value === 'object') {
    const entries = Object.entries(value).map(([key, member]) => [key.normalize('NFC'), member] as const);
    if (new Set(entries.map(([key]) => key)).size !== entries.length)
      throw new RangeError('two keys are the same');
    // The default order of strings is by UTF-16 code units, as RFC 8785 3.2.3 wants it.
    entries.sort(([a], [b]) => (a < b ? -1 : 1));
    return `{${entries.map(([key, member]) => `${canonicalString(key)}:${canonicalJson(member)}`).join(',')}}`;
  }
  throw new RangeError(`JSON cannot hold a ${typeof value}`);
}

function canonicalString(value: string): string {
  if (!value.isWellFormed()) throw new RangeError('a string has a lone surrogate');
  return JSON.stringify(value.normalize('NFC'));
}
