import { shuffled, type RandomSource } from './random.ts';

// Numbers that carry a meaning of their own for many people. Common practice, no source.
const LOADED = new Set(['420', '187', '247', '365', '360', '180', '720', '101']);

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
 * come back, but never twice at one seat (and so never twice on one tray).
 * @param cupsAtSeat number of cups at each seat, each at most the size of the pool.
 */
export function drawCodes(random: RandomSource, cupsAtSeat: readonly number[]): string[][] {
  let left: string[] = [];
  return cupsAtSeat.map((cups) => {
    if (cups > CODE_POOL.length) throw new RangeError(`no seat can have ${cups} different codes`);
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
