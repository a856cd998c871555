import { randomInt, shuffled, type RandomSource } from '../ground/random.ts';

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

/**
 * Codes that are taken for one another when read, said or written down: one digit apart, or two digits swapped.
 * Common practice, no source.
 */
export function nearTwins(one: string, other: string): boolean {
  const apart = [0, 1, 2].filter((at) => one[at] !== other[at]);
  if (apart.length === 1) return true;
  const [first = 0, second = 0] = apart;
  return apart.length === 2 && one[first] === other[second] && one[second] === other[first];
}

/** Where a code stands: on a tray, or among those that no cup took. */
interface Place {
  /** Running number in the session; so many as the pool has codes make a round, in which each code is once. */
  number: number;
  seat: number;
  tray: string[] | null;
  at: number;
}

// Four of ten places will do; after these all of a round are looked at.
const TRIES = 400;

/**
 * Codes as `drawCodes` has them, and no two near-twins on one tray: where some fell together, one of them, either with
 * the same chance, changes places with a cup drawn from all others of its round of the pool, and from what was left over.
 * Which liquid is in a cup is not known here, so that codes tell nothing of it.
 * @param random where order and changes come from.
 * @param traysAtSeat for each seat the number of cups of each of its trays, in order; 20 cups at most on one.
 * @returns for each seat and tray its codes, in random order.
 * @throws RangeError for a number of cups that is no whole number or too large.
 */
export function drawTrayCodes(
  random: RandomSource,
  traysAtSeat: readonly (readonly number[])[],
): string[][][] {
  const largest = Math.max(0, ...traysAtSeat.flat());
  if (largest > 20) throw new RangeError(`cups on a tray are at most 20, not ${largest}`);
  const drawn = drawCodes(
    random,
    traysAtSeat.map((trays) => trays.reduce((sum, cups) => sum + cups, 0)),
  );
  const seats = drawn.map((codes, seat) => {
    let next = 0;
    return (traysAtSeat[seat] ?? []).map((cups) => codes.slice(next, (next += cups)));
  });
  const room = new Room(random, seats);
  for (const tray of seats.flat()) room.partTwins(tray);
  return seats;
}

/** All cups of a session, in which codes change places. */
class Room {
  readonly #random: RandomSource;
  readonly #seats: string[][][];
  /** In order, those of the last round that no cup took at the end: whole rounds. */
  readonly #places: Place[] = [];
  /** Number of the first cup of each tray. */
  readonly #first = new Map<string[], number>();
  readonly #left: string[];

  constructor(random: RandomSource, seats: string[][][]) {
    this.#random = random;
    this.#seats = seats;
    const add = (place: Omit<Place, 'number'>): void =>
      void this.#places.push({ number: this.#places.length, ...place });
    for (const [seat, trays] of seats.entries()) {
      for (const tray of trays) {
        this.#first.set(tray, this.#places.length);
        tray.forEach((_, at) => add({ seat, tray, at }));
      }
    }
    const used = seats.flat(2);
    const lastRound = new Set(used.slice(used.length - (used.length % CODE_POOL.length)));
    this.#left = lastRound.size === 0 ? [] : CODE_POOL.filter((code) => !lastRound.has(code));
    this.#left.forEach((_, at) => add({ seat: -1, tray: null, at }));
  }

  /** Changes codes of a tray until no two of it are near-twins. */
  partTwins(tray: string[]): void {
    for (;;) {
      const twins = tray.flatMap((code, at) =>
        tray.flatMap((other, beside) => (beside > at && nearTwins(code, other) ? [[at, beside]] : [])),
      );
      const [pair] = twins;
      if (!pair) return;
      const number = (this.#first.get(tray) ?? 0) + (pair[randomInt(this.#random, 2)] ?? 0);
      if (!this.#change(this.#places[number] as Place))
        throw new RangeError('there are not enough codes that differ enough');
    }
  }

  #change(place: Place): boolean {
    const round = CODE_POOL.length;
    const start = Math.floor(place.number / round) * round;
    for (let tried = 0; tried < TRIES; tried++) {
      const other = this.#places[start + randomInt(this.#random, round)];
      if (other && this.#swapped(place, other)) return true;
    }
    return shuffled(this.#random, this.#places.slice(start, start + round)).some((other) =>
      this.#swapped(place, other),
    );
  }

  /** Swaps two codes if each fits where it comes to. */
  #swapped(one: Place, other: Place): boolean {
    if (one.tray === other.tray) return false;
    const [mine, theirs] = [this.#codeAt(one), this.#codeAt(other)];
    if (!this.#fits(theirs, one, other) || !this.#fits(mine, other, one)) return false;
    (one.tray ?? this.#left)[one.at] = theirs;
    (other.tray ?? this.#left)[other.at] = mine;
    return true;
  }

  #codeAt = ({ tray, at }: Place): string => (tray ?? this.#left)[at] ?? '';

  /** May this code, which comes from there, stand here: beside no near-twin, and not a second time at the seat? */
  #fits(code: string, { seat, tray, at }: Place, { seat: from }: Place): boolean {
    if (tray === null) return true;
    if (tray.some((own, place) => place !== at && nearTwins(own, code))) return false;
    return from === seat || !(this.#seats[seat] ?? []).some((one) => one.includes(code));
  }
}
