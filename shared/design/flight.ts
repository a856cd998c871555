import { apartBlocks } from './apart.ts';
import { keepApart } from './apart-blocks.ts';
import { drawIncompleteBlocks, incompleteBlockDesign } from './incomplete-blocks.ts';
import { dealOrders, drawBlock } from './orders.ts';
import { randomInt, seededRandom, shuffled, type RandomSource } from '../ground/random.ts';
import { williamsSquare } from './williams.ts';
import type { FlightSample } from './flight-sample.ts';

/** These samples cannot be served without two cups of one liquid side by side; the message is for the host. */
export class NotApartError extends RangeError {
  override readonly name = 'NotApartError';
}

export interface FlightDesign {
  /** 2 to 13, ids all different. */
  samples: readonly FlightSample[];
  /** Cups of one flight per seat; null: all of them. */
  cupsEach: number | null;
  seats: number;
  /** Flights per seat, 1 to 4. */
  replicates: number;
  random: RandomSource;
}

/**
 * Orders of sample ids, for each seat one for each replicate; cups of one liquid never stand side by side, and no seat gets
 * an order again while there are others. In each replicate, counted over the seats 1 to s:
 * - each sample has had each place equally often to within one, for every s (unless one liquid fills every other place);
 * - without duplicates and with an even number of samples, each has followed each other equally often to within one, for
 *   every s; with an odd number to within two, and exactly so whenever a double square of 2k seats is complete. No Latin
 *   square of 3, 5 or 7 rows balances carry-over, so that after k seats two is the least there is;
 * - with two cups of every sample (six or more cups) carry-over between different liquids is even to within one after
 *   every k seats; with some duplicates it cannot stay so, and is as even as the squares at hand make it (apart.ts);
 * - with incomplete blocks the balance is that of drawIncompleteBlocks, as far as keeping cups apart allows.
 * @throws NotApartError when cups of one liquid would stand side by side; RangeError for sizes out of range.
 * Source: Williams 1949; Yates 1936; dealing them out and keeping liquids apart are our own constructions.
 */
export function drawFlightOrders(design: FlightDesign): string[][][] {
  const { samples, cupsEach, seats, replicates, random } = design;
  checkApart(samples, cupsEach);
  if (new Set(samples.map(({ id }) => id)).size !== samples.length) {
    throw new RangeError('a sample is given twice');
  }
  if (cupsEach !== null && cupsEach < samples.length) return dealIncomplete(design, cupsEach);
  const most = mostOfOneLiquid(samples);
  if (most === 1) {
    const ids = samples.map(({ id }) => id);
    return ids.length % 2 === 0
      ? dealBlocks(random, seats, replicates, () => namedSquare(random, ids)[0] ?? [])
      : dealDoubleSquares(random, ids, seats, replicates);
  }
  if (2 * most > samples.length) return dealAlternating(random, samples, seats, replicates);
  return dealBlocks(random, seats, replicates, apartBlocks(random, samples));
}

/** Blocks of as many seats as rows; each replicate, and all trays together, use up a block's rows before the next. */
function dealBlocks(
  random: RandomSource,
  seats: number,
  replicates: number,
  next: () => string[][],
): string[][][] {
  const dealt: string[][][] = [];
  while (dealt.length < seats) {
    const orders = next();
    dealt.push(...dealOrders(random, { orders, seats: orders.length, replicates }));
  }
  return dealt.slice(0, seats);
}

/** A Williams square in sample ids, in halves that are Latin squares by themselves: one half, or two for odd numbers. */
function namedSquare(random: RandomSource, ids: readonly string[]): string[][][] {
  const names = shuffled(random, ids);
  const rows = williamsSquare(ids.length).map((row) => row.map((at) => names[at] ?? ''));
  return rows.length === ids.length ? [rows] : [rows.slice(0, ids.length), rows.slice(ids.length)];
}

/** Odd numbers of samples: one half of a double square for some replicates, the other for the rest, then changed over. */
function dealDoubleSquares(
  random: RandomSource,
  ids: readonly string[],
  seats: number,
  replicates: number,
): string[][][] {
  const dealt: string[][][] = [];
  while (dealt.length < seats) {
    const halves = shuffled(random, namedSquare(random, ids));
    for (const turn of [0, 1]) {
      const grids = [0, 1].map((half) =>
        drawBlock(random, halves[(half + turn) % 2] ?? [], Math.ceil((replicates - half) / 2)),
      );
      for (let seat = 0; seat < ids.length; seat++) {
        dealt.push(
          Array.from({ length: replicates }, (_, tray) => grids[tray % 2]?.[seat]?.[tray >> 1] ?? []),
        );
      }
    }
  }
  return dealt.slice(0, seats);
}

/** One liquid in every other cup, first and last: its cups go round in those places, the others in theirs. */
function dealAlternating(
  random: RandomSource,
  samples: readonly FlightSample[],
  seats: number,
  replicates: number,
): string[][][] {
  const most = mostOfOneLiquid(samples);
  const liquid = samples.find(
    ({ sameAs }) => samples.filter((other) => other.sameAs === sameAs).length === most,
  );
  const ids = (same: boolean) =>
    shuffled(
      random,
      samples.filter(({ sameAs }) => (sameAs === liquid?.sameAs) === same).map(({ id }) => id),
    );
  const [outer, inner] = [ids(true), ids(false)];
  // The two lengths differ by one, so that all their turns come together once in as many orders as their product.
  const orders = outer.length * inner.length;
  const start = randomInt(random, orders);
  return Array.from({ length: seats }, (_, seat) =>
    Array.from({ length: replicates }, (_, tray) => {
      const turn = start + seat + tray;
      return samples.map((_, place) => {
        const around = place % 2 === 0 ? outer : inner;
        return around[(turn + (place >> 1)) % around.length] ?? '';
      });
    }),
  );
}

/** Whole designs, so that fewer seats get what the first of more would; each replicate from a source of its own. */
function dealIncomplete(
  { samples, seats, replicates, random }: FlightDesign,
  perBlock: number,
): string[][][] {
  const ids = samples.map(({ id }) => id);
  const size = incompleteBlockDesign({ samples: ids.length, perBlock }).blocks.length;
  const whole = Math.ceil(seats / size) * size;
  const dealt: string[][][] = Array.from({ length: whole }, () => []);
  for (let replicate = 0; replicate < replicates; replicate++) {
    const [blocks, places] = [seededRandom(random.bytes(32)), seededRandom(random.bytes(32))];
    const orders = drawIncompleteBlocks({ samples: ids, perBlock, seats: whole, random: blocks });
    const column =
      mostOfOneLiquid(samples) > 1 ? keepApart(places, { orders, samples, design: size }) : orders;
    for (let start = 0; start < whole; start += size) {
      const before = dealt.slice(start, start + size);
      differing(before, column.slice(start, start + size)).forEach((order, seat) =>
        before[seat]?.push(order),
      );
    }
  }
  return dealt.slice(0, seats);
}

/** The orders of a design in which seats that had theirs before change with another seat, where one can be found. */
function differing(before: readonly string[][][], orders: readonly string[][]): string[][] {
  const out = [...orders];
  const had = (seat: number, order: readonly string[] = []) =>
    before[seat]?.some((one) => one.join() === order.join()) ?? false;
  for (const seat of out.keys()) {
    if (!had(seat, out[seat])) continue;
    const other = [...out.keys()].find((one) => !had(seat, out[one]) && !had(one, out[seat]));
    if (other === undefined) continue;
    [out[seat], out[other]] = [out[other] ?? [], out[seat] ?? []];
  }
  return out;
}

function mostOfOneLiquid(samples: readonly FlightSample[]): number {
  const counts = new Map<string, number>();
  for (const { sameAs } of samples) counts.set(sameAs, (counts.get(sameAs) ?? 0) + 1);
  return Math.max(0, ...counts.values());
}

/**
 * Can cups of one liquid be kept apart?
 * @throws NotApartError when they cannot.
 */
export function checkApart(samples: readonly FlightSample[], cupsEach: number | null): void {
  const most = mostOfOneLiquid(samples);
  if (most > Math.ceil(samples.length / 2)) {
    throw new NotApartError(
      `${most} of ${samples.length} cups are the same: two of them would always stand side by side.`,
    );
  }
  if (cupsEach !== null && cupsEach < samples.length && most > Math.ceil(cupsEach / 2)) {
    throw new NotApartError(
      `${most} cups are the same, and could stand side by side among ${cupsEach} cups each: serve ${2 * most - 1} or more, or all of them.`,
    );
  }
}
