import { drawCodes } from './codes.ts';
import { dealOrders } from './orders.ts';
import { randomUuid, seededRandom, shuffled } from './random.ts';

/** The six serving orders of a triangle (ISO 4120). */
export const TRIANGLE_ORDERS = ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'] as const;

export interface PlannedServing {
  id: string;
  /** 1 to 3, left to right. */
  position: number;
  code: string;
  sampleId: string;
}
export interface PlannedTray {
  id: string;
  replicate: number;
  servings: PlannedServing[];
}
export interface PlannedSeat {
  number: number;
  trays: PlannedTray[];
}
export interface TrianglePlan {
  seats: PlannedSeat[];
}

export interface TriangleDesign {
  /** Seats with trays, 1 to 400: expected assessors and latecomers. */
  seats: number;
  /** Trays per seat, 1 to 4. */
  replicates: number;
  sampleIds: readonly [string, string];
  /** 32 bytes; the same design and seed give the same plan. */
  seed: Uint8Array;
}

const BLOCK = 6;
const CUPS = 3;

/**
 * Draws who gets which cups. Counted over the seats 1 to s, for every s, the six orders are balanced to within one,
 * over all trays and within each replicate, so that seats left empty at the end cost no balance; nobody gets an
 * order twice. Within that everything is random, ids and which sample is A included, and all of it from the seed:
 * keep that as secret as the key.
 * @throws RangeError for seats, replicates or seed out of range, or two samples of one id.
 * Source: balance over the six orders as in ISO 4120; the blocks are our own construction.
 */
export function drawTrianglePlan({ seats, replicates, sampleIds, seed }: TriangleDesign): TrianglePlan {
  checkWhole('seats', seats, 1, 400);
  checkWhole('replicates', replicates, 1, 4);
  if (sampleIds[0] === sampleIds[1])
    throw new RangeError('a triangle compares two samples, not one with itself');
  const random = seededRandom(seed);
  const [a, b] = shuffled(random, sampleIds) as [string, string];
  const rows = dealOrders(random, { orders: TRIANGLE_ORDERS, seats, replicates });
  const codes = drawCodes(random, Array<number>(seats).fill(replicates * CUPS));
  return {
    seats: rows.map((orders, seat) => ({
      number: seat + 1,
      trays: orders.map((order, tray) => ({
        id: randomUuid(random),
        replicate: tray + 1,
        servings: Array.from(order, (letter, cup) => ({
          id: randomUuid(random),
          position: cup + 1,
          code: codes[seat]?.[tray * CUPS + cup] as string,
          sampleId: letter === 'A' ? a : b,
        })),
      })),
    })),
  };
}

function checkWhole(field: string, value: number, least: number, most: number): void {
  if (!Number.isInteger(value) || value < least || value > most) {
    throw new RangeError(`${field} is a whole number from ${least} to ${most}, not ${value}`);
  }
}

/**
 * The most cups one sample can need for this many seats, whatever is drawn. Six trays in a row hold nine of each;
 * of the trays left over each holds two cups of a sample at most, and no more than three of them do. Some plan does
 * need as many, so the number cannot be smaller.
 * @throws RangeError unless seats are 0 to 400 and replicates 1 to 4.
 */
export function worstCaseCups({ seats, replicates }: { seats: number; replicates: number }): number {
  checkWhole('seats', seats, 0, 400);
  checkWhole('replicates', replicates, 1, 4);
  const trays = seats * replicates;
  const rest = trays % BLOCK;
  return Math.floor(trays / BLOCK) * 9 + Math.min(rest, 3) * 2 + Math.max(rest - 3, 0);
}

/**
 * Cups of each sample, by sample id, for the seats 1 to `seatCount`.
 * @throws RangeError for more seats than the plan has.
 */
export function cupsPerSample(plan: TrianglePlan, seatCount: number): Map<string, number> {
  checkWhole('seatCount', seatCount, 0, plan.seats.length);
  const counts = new Map<string, number>();
  for (const seat of plan.seats.slice(0, seatCount)) {
    for (const { sampleId } of seat.trays.flatMap((tray) => tray.servings)) {
      counts.set(sampleId, (counts.get(sampleId) ?? 0) + 1);
    }
  }
  return counts;
}
