// Seven digits on every ballot, in its QR and in print: three of the tasting, three of the seat, and a check digit.

const MODULUS = 1000;

/**
 * Check digit after ISO/IEC 7064, MOD 11,10: it notices every single wrong digit and nearly every two that changed places.
 *
 * @param digits one decimal digit or more
 * @example checkDigit('79462') // '3'
 */
export function checkDigit(digits: string): string {
  let carry = 10;
  for (const digit of digits) {
    const sum = (carry + Number(digit)) % 10;
    carry = ((sum === 0 ? 10 : sum) * 2) % 11;
  }
  return String((11 - carry) % 10);
}

/** Three digits by which ballots of one tasting are told from those of another, from the root of its seal (hex). */
const markOf = (root: string): string =>
  String(Number.parseInt(root.slice(0, 12), 16) % MODULUS).padStart(3, '0');

/**
 * The number of a seat's ballot, as its QR holds it.
 *
 * @param root of the tasting's seal, hex
 * @param seat from 1 to 999
 */
export function ballotNumber(root: string, seat: number): string {
  const body = `${markOf(root)}${String(seat).padStart(3, '0')}`;
  return `${body}${checkDigit(body)}`;
}

/** In groups, as it is printed: '482 012 7'. */
export const groupedNumber = (number: string): string => number.replace(/^(\d{3})(\d{3})(\d)$/, '$1 $2 $3');

export type NumberRead = { seat: number } | { trouble: string };

/** The seat that a typed or scanned number names, or what is the matter with it. Spaces and hyphens say nothing. */
export function readBallotNumber(typed: string, root: string): NumberRead {
  const digits = typed.replaceAll(/[\s·.-]/g, '');
  if (!/^\d{7}$/.test(digits)) return { trouble: 'A ballot number has seven digits.' };
  const body = digits.slice(0, 6);
  if (checkDigit(body) !== digits.slice(6)) {
    return { trouble: 'A digit is wrong: read the number on the sheet once more.' };
  }
  if (body.slice(0, 3) !== markOf(root)) return { trouble: 'This ballot belongs to another tasting.' };
  return { seat: Number(body.slice(3)) };
}
