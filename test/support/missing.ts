/** What may be absent from a machine that tests; whatever else a test needs has to be there. */
const OPTIONAL = /^not on this machine: (R|R package [\w.]+|Python with (SciPy|pandas))$/;

/** The reason for skipping a test, as the runner accepts it: `skip(missing('R'))`. */
export function missing(what: string): string {
  return `not on this machine: ${what}`;
}

export function isMissing(note: string): boolean {
  return OPTIONAL.test(note);
}
