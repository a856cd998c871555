import { shuffled, type RandomSource } from '../ground/random.ts';

// Numbers that carry a meaning of their own for many people (slang, round the clock, a year, turns).
// Common practice, no source. Emergency numbers and lucky or unlucky ones with repeated digits are out anyway.
const LOADED = new Set(['420', '187', '247', '365', '180', '360', '720']);

function tellsNothing(code: string): boolean {
  const [a = 0, b = 0, c = 0] = Array.from(code, Number);
  const repeats = new Set(code).size < 3;
  const runs = (b - a === 1 && c - b === 1) || (a - b === 1 && b - c === 1);
  const round = code.endsWith('00');
  return !repeats && !runs && !round && !LOADED.has(code);
}

/**
 * Three-digit codes that people read no meaning into: three different digits, no run up or down, no round hundred.
 * Blind three-digit codes: ISO 4120; what to leave out is common practice, no source.
 */
export const CODE_POOL: readonly string[] = Array.from({ length: 900 }, (_, index) =>
  String(index + 100),
).filter(tellsNothing);

/**
 * Codes for the cups of a session, seat by seat. Unique in the session as long as the pool lasts; after that codes
 * come back, but never twice at one seat (and so never twice on one tray). At most one new shuffle for a seat; nothing
 * is drawn again and again until it fits.
 * @param random where the order of the codes comes from.
 * @param cupsAtSeat number of cups at each seat, each 0 to the size of the pool.
 * @returns for each seat its codes, in random order.
 * @throws RangeError for a number of cups that is no whole number or larger than the pool.
 */
export function drawCodes(random: RandomSource, cupsAtSeat: readonly number[]): string[][] {
  let left: string[] = [];
  return cupsAtSeat.map((cups) => {
    if (!Number.isInteger(cups) || cups < 0 || cups > CODE_POOL.length) {
      throw new RangeError(`cups at a seat are a whole number from 0 to ${CODE_POOL.length}, not ${cups}`);
    }
    const here: string[] = left.splice(0, cups);
    if (here.length < cups) {
      // The pool is used up within this seat: start over, keeping what the seat has out of its remaining draw.
      const fresh = shuffled(random, CODE_POOL);
      const rest = fresh.filter((code) => !here.includes(code)).slice(0, cups - here.length);
      here.push(...rest);
      left = fresh.filter((code) => !rest.includes(code));
    }
    return here;
  });
}
