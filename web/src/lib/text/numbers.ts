/*
 * How numbers stand on a result page. Rounding happens here and nowhere before. One locale on server and
 * in the browser, so that a page reads the same before and after its scripts run.
 */
import { bandInWords, pDecimals } from '@oddglass/shared/ground/phrases.ts';

const LOCALE = 'en';
const MINUS = '\u2212';
const NO_BREAK = '\u00a0';

/** A number with a fixed count of decimals and a true minus sign. */
export function decimals(value: number, places: number): string {
  const shown = new Intl.NumberFormat(LOCALE, {
    minimumFractionDigits: places,
    maximumFractionDigits: places,
  }).format(value);
  // '-0.00' would claim a side that the rounded number no longer has.
  return /^-0(\.0+)?$/.test(shown) ? shown.slice(1) : shown.replace('-', MINUS);
}

/** Three decimals, more where a p just above a usual level would read as that level, '< 0.001' below; never 0.000. Of a band its upper end. */
export function pValue(p: number, bands = false): string {
  if (bands) return bandInWords(p);
  return p < 0.001 ? `<${NO_BREAK}0.001` : decimals(p, pDecimals(p));
}

/** A share (0 to 1) as whole percent; what would round to none or to all says so instead. */
export function percent(share: number): string {
  if (share > 0 && share < 0.005) return `<${NO_BREAK}1${NO_BREAK}%`;
  if (share < 1 && share >= 0.995) return `>${NO_BREAK}99${NO_BREAK}%`;
  return `${decimals(share * 100, 0)}${NO_BREAK}%`;
}

/** '21 to 89 %': both ends of an interval of shares. */
export function percentRange(lower: number, upper: number): string {
  const bare = (share: number): string => percent(share).replace(/\u00a0%$/, '');
  return `${bare(lower)} to ${bare(upper)}${NO_BREAK}%`;
}

/** A count or an expected count: whole numbers bare, others with one decimal. */
export function countOf(value: number): string {
  return Number.isInteger(value) ? decimals(value, 0) : decimals(value, 1);
}

/** A number as it was chosen: at most four decimals, no trailing zeros ('0.05', '0.1'). */
export function asChosen(value: number): string {
  return new Intl.NumberFormat(LOCALE, { maximumFractionDigits: 4 }).format(value).replace('-', MINUS);
}

/** Every digit the number has, for those who recompute. */
export function fullPrecision(value: number | null): string {
  return value === null ? 'none' : String(value).replace('-', MINUS);
}

/** '1 answer', '12 answers'. */
export function counted(count: number, one: string, many = `${one}s`): string {
  return `${countOf(count)}${NO_BREAK}${count === 1 ? one : many}`;
}

/** A moment (ISO 8601) as a date and time in UTC, written out. */
export function dateOf(moment: string): string {
  return new Intl.DateTimeFormat('en-GB', {
    dateStyle: 'long',
    timeStyle: 'short',
    timeZone: 'UTC',
  }).format(new Date(moment));
}
