/** A number read from what somebody typed. */
export interface TypedNumber {
  value: number;
  /** What else it may mean: '1,500' is one and a half, and fifteen hundred to others; null where there is one way only. */
  other: number | null;
}

// No-break, thin, narrow no-break and figure spaces stand between thousands as ordinary spaces do, and apostrophes.
const BETWEEN = /[\s\u00a0\u2007\u2009\u202f'\u2019]/g;
const NUMBER = /^([+-]?)(\d*(?:[.,]\d+)*[.,]?)$/;
const THOUSANDS = /^[1-9]\d{0,2}([.,])\d{3}(?:\1\d{3})*$/;

/**
 * A number as people type it. One comma or point alone stands before decimals: '4,2' and '4.2' are 4.2, never 42, and
 * '1,048' is 1.048; `other` tells what it is to those who part thousands so. Where both stand, the last one is the decimal
 * one; where one stands several times, it parts thousands. Spaces of any width may stand between thousands.
 * Null for what is no number, among it exponents, and for an empty text. Source: common practice, no source.
 * Example: `typedNumber('4,2')?.value` is 4.2
 * Example: `typedNumber('1.048,5')?.value` is 1048.5
 */
export function typedNumber(typed: string): TypedNumber | null {
  const bare = typed.trim().replaceAll('\u2212', '-').replaceAll(BETWEEN, '');
  const [, sign = '', figures = ''] = NUMBER.exec(bare) ?? [];
  if (!/\d/.test(figures)) return null;
  const marks = figures.match(/[.,]/g) ?? [];
  const sorts = new Set(marks);
  if (sorts.size > 1) {
    const last = Math.max(figures.lastIndexOf('.'), figures.lastIndexOf(','));
    const whole = figures.slice(0, last);
    // '1.2,3.4' has no meaning.
    if (whole.includes(figures[last] ?? '') || !/^\d{1,3}(?:[.,]\d{3})*$/.test(whole)) return null;
    return signed(sign, `${whole.replaceAll(/[.,]/g, '')}.${figures.slice(last + 1)}`, null);
  }
  if (marks.length > 1) {
    return THOUSANDS.test(figures) ? signed(sign, figures.replaceAll(/[.,]/g, ''), null) : null;
  }
  return signed(
    sign,
    figures.replace(',', '.'),
    THOUSANDS.test(figures) ? figures.replace(/[.,]/, '') : null,
  );
}

function signed(sign: string, figures: string, other: string | null): TypedNumber | null {
  const factor = sign === '-' ? -1 : 1;
  const value = factor * Number(figures === '' ? 'x' : figures);
  if (!Number.isFinite(value)) return null;
  return { value: value === 0 ? 0 : value, other: other === null ? null : factor * Number(other) };
}
