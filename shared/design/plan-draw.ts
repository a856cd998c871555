import type { CupMark } from '../contracts/session.ts';
import type { SampleRole } from '../contracts/part.ts';
import type { FlightPartKind } from '../kinds/kind.ts';
import { choiceOf } from '../kinds/kinds.ts';
import { choiceOrders, type ChoiceDesign } from './choice-orders.ts';
import { drawTrayCodes } from './codes.ts';
import { checkApart, drawFlightOrders } from './flight.ts';
import { type FlightSample } from './flight-sample.ts';
import { incompleteBlockDesign } from './incomplete-blocks.ts';
import { dealIndependently, dealInTwos, worstCaseOfOrders } from './orders.ts';
import { randomUuid, seededRandom, shuffled, type RandomSource } from '../ground/random.ts';

export interface PlannedServing {
  id: string;
  /** Left to right, from 1. */
  position: number;
  code: string;
  sampleId: string;
  /** Cups everybody may know; null for all others. */
  mark: CupMark | null;
}
export interface PlannedTray {
  id: string;
  /** Running number at the seat, over all parts, from 1. */
  trayNumber: number;
  /** Number of the part it is poured for. */
  part: number;
  /** How often the seat has had such a tray, from 1. */
  /** How often its seat has had such a tray, from 1; 0 for one that does not count. */
  replicate: number;
  servings: PlannedServing[];
}
export interface PlannedSeat {
  number: number;
  trays: PlannedTray[];
}
export interface Plan {
  seats: PlannedSeat[];
}

interface DealtPart {
  /** Number of the part in the session, from 1. */
  number: number;
  /** Trays per seat, 1 to 4. */
  replicates: number;
}

export interface ChoicePartDesign extends DealtPart, ChoiceDesign {
  /** One more tray before the others, which does not count. */
  warmUpTray?: boolean;
}

export interface FlightPartDesign extends DealtPart {
  kind: FlightPartKind;
  /** Cups of the part: warm-ups (served first) and the others; `sameAs` is shared by cups of one liquid. */
  samples: readonly { id: string; role: SampleRole; sameAs: string }[];
  /** Most cups per tray besides warm-ups and the marked control; null: everybody gets every sample. */
  cupsEach: number | null;
  /**
   * Of a difference from control: the sample in the marked cup, and the hidden one of the same liquid. The hidden one
   * takes its place among the samples, whether or not it is listed there.
   */
  control?: { sampleId: string; hiddenSampleId: string };
}

/** A part with cups of its own, with sample ids in place of arms. */
export type PartDesign = ChoicePartDesign | FlightPartDesign;

export interface PlanDesign {
  /** Seats with trays, 1 to 400: expected assessors and latecomers. */
  seats: number;
  /** 1 to 4 parts with cups of their own, in the order in which they are asked. */
  parts: readonly PartDesign[];
  /** Seats that are dealt by themselves, one place after another; they add up to `seats`. Left out: all together. */
  groups?: readonly number[];
  /** 32 bytes; the same design and seed give the same plan. */
  seed: Uint8Array;
}

/** A cup before it has its id and code. */
type Cup = Pick<PlannedServing, 'sampleId' | 'mark'>;

/**
 * Draws who gets which cups. Trays are numbered through the parts in their order; codes are never twice at one seat,
 * unique in the session while they last, and no near-twins on one tray. Ids are random. Everything comes from the seed: keep that as secret as the key.
 * A plan of fewer seats has the same orders as the first seats of a larger one. With groups each of them is balanced by
 * itself, as if it were a tasting of its own; what a letter of an order stands for, and so a constant reference, is one for all.
 * @throws NotApartError when cups of one liquid would stand side by side; RangeError for anything out of range.
 * Source: complete sets of orders (ISO 4120, ISO 10399, ISO 5495), Williams 1949, Yates 1936; see the files of each.
 */
export function drawPlan({ seats, parts, groups, seed }: PlanDesign): Plan {
  checkWhole('seats', seats, 1, 400);
  checkWhole('parts', parts.length, 1, 4);
  for (const part of parts) checkWhole('replicates', part.replicates, 1, 4);
  if (groups) checkGroups(groups, seats);
  const random = seededRandom(seed);
  // A source for each part: what one part draws changes nothing about the others.
  const sources = parts.map(() => seededRandom(random.bytes(32)));
  const dealt = parts.map((part, at) => dealPart(part, groups ?? seats, sources[at] as RandomSource));
  const tables = Array.from({ length: seats }, (_, seat) =>
    parts.flatMap((part, at) =>
      (dealt[at]?.[seat] ?? []).map((cups, tray) => ({
        part: part.number,
        replicate: tray + 1 - (traysOf(part) - part.replicates),
        cups,
      })),
    ),
  );
  const codes = drawTrayCodes(
    random,
    tables.map((trays) => trays.map(({ cups }) => cups.length)),
  );
  return {
    seats: tables.map((trays, seat) => {
      return {
        number: seat + 1,
        trays: trays.map(({ part, replicate, cups }, at) => ({
          id: randomUuid(random),
          trayNumber: at + 1,
          part,
          replicate,
          servings: cups.map(({ sampleId, mark }, place) => ({
            id: randomUuid(random),
            position: place + 1,
            code: codes[seat]?.[at]?.[place] as string,
            sampleId,
            mark,
          })),
        })),
      };
    }),
  };
}

/** Trays of a seat in this part, one that does not count included. */
const traysOf = (part: PartDesign): number =>
  part.replicates + (!isFlightDesign(part) && part.warmUpTray ? 1 : 0);

function checkGroups(groups: readonly number[], seats: number): void {
  for (const size of groups) checkWhole('groups', size, 1, 400);
  checkWhole(
    'seats of all groups',
    groups.reduce((sum, size) => sum + size, 0),
    seats,
    seats,
  );
}

/** Cups for each seat, tray by tray; a list of sizes is dealt group by group, each from a source of its own. */
function dealPart(part: PartDesign, seats: number | readonly number[], random: RandomSource): Cup[][][] {
  // What the letters stand for is drawn before, once.
  const deal = isFlightDesign(part) ? dealFlight(part) : dealChoice(part, random);
  if (typeof seats === 'number') return deal(seats, random);
  return seats
    .map((size) => ({ size, own: seededRandom(random.bytes(32)) }))
    .flatMap(({ size, own }) => deal(size, own));
}

type Deal = (seats: number, random: RandomSource) => Cup[][][];

function dealChoice(part: ChoicePartDesign, lettering: RandomSource): Deal {
  const { orders, letters } = choiceOrders(part);
  const { reference, pairsOfTrays } = choiceOf(part);
  const [a, b] = letters ?? (shuffled(lettering, part.sampleIds) as [string, string]);
  const replicates = traysOf(part);
  return (seats, random) => {
    const dealt = pairsOfTrays
      ? dealInTwos(random, { orders, seats, replicates, alone: replicates - part.replicates })
      : dealIndependently(random, { orders, seats, replicates });
    return dealt.map((trays) =>
      trays.map((order) =>
        Array.from(order, (letter, place) => ({
          sampleId: letter === 'A' ? a : b,
          mark: reference && place === 0 ? 'reference' : null,
        })),
      ),
    );
  };
}

function dealFlight(part: FlightPartDesign): Deal {
  const { cupsEach, replicates, control } = part;
  const marked: Cup[] = control ? [{ sampleId: control.sampleId, mark: 'control' }] : [];
  const warmUps = part.samples.filter(({ role }) => role === 'warm-up');
  const first = [...marked, ...warmUps.map(({ id }): Cup => ({ sampleId: id, mark: null }))];
  return (seats, random) =>
    drawFlightOrders({ samples: balancedSamples(part), cupsEach, seats, replicates, random }).map((trays) =>
      trays.map((order) => [...first, ...order.map((sampleId): Cup => ({ sampleId, mark: null }))]),
    );
}

/** The samples among which orders are balanced: the hidden control too, warm-ups and the marked cup not. */
export function balancedSamples({ samples, control }: FlightPartDesign): FlightSample[] {
  const out = samples.filter(({ role }) => role !== 'warm-up').map(({ id, sameAs }) => ({ id, sameAs }));
  if (control && !out.some(({ id }) => id === control.hiddenSampleId)) {
    out.push({ id: control.hiddenSampleId, sameAs: control.hiddenSampleId });
  }
  return out;
}

/** Does the part deal a flight of samples, and not one order of two arms? */
export function isFlightDesign(part: PartDesign): part is FlightPartDesign {
  return 'samples' in part;
}

/**
 * Refuses a part whose hidden duplicates cannot be kept apart, before anything is drawn.
 * @throws NotApartError with a sentence for the host.
 */
export function checkPartApart(part: PartDesign): void {
  if (isFlightDesign(part)) checkApart(balancedSamples(part), part.cupsEach);
}

/**
 * The most cups of each sample, by sample id, that these seats can need in this part, whatever is drawn; marked cups and
 * warm-ups included. For choices and whole flights no smaller number is safe.
 * @param seats 0 to 400.
 * @throws RangeError for seats or replicates out of range.
 */
export function worstCaseCupsOf(part: PartDesign, seats: number): Map<string, number> {
  checkWhole('seats', seats, 0, 400);
  checkWhole('replicates', part.replicates, 1, 4);
  const trays = seats * traysOf(part);
  if (!isFlightDesign(part)) {
    const { orders, letters } = choiceOrders(part);
    const [a, b] = letters ?? part.sampleIds;
    const either = (letter: string) => traysOf(part) * worstCaseOfOrders(orders, letter, seats);
    if (letters) {
      return new Map([
        [a, either('A')],
        [b, either('B')],
      ]);
    }
    const most = Math.max(either('A'), either('B'));
    return new Map([
      [a, most],
      [b, most],
    ]);
  }
  const dealt = balancedSamples(part);
  const { control, cupsEach, samples } = part;
  const perReplicate =
    cupsEach === null || cupsEach >= dealt.length ? seats : mostInBlocks(dealt.length, cupsEach, seats);
  const counts = new Map(dealt.map(({ id }) => [id, perReplicate * part.replicates]));
  for (const { id, role } of samples) if (role === 'warm-up') counts.set(id, trays);
  if (control) counts.set(control.sampleId, (counts.get(control.sampleId) ?? 0) + trays);
  return counts;
}

// Blocks come in an order that keeps servings close; over every size the tests find no sample this far above the least.
const MAX_ABOVE_MIN = 3;

function mostInBlocks(samples: number, perBlock: number, seats: number): number {
  const { blocks, timesServed } = incompleteBlockDesign({ samples, perBlock });
  const left = seats % blocks.length;
  const even = Math.floor((left * perBlock) / samples) + MAX_ABOVE_MIN;
  return Math.floor(seats / blocks.length) * timesServed + Math.min(left, timesServed, even);
}

/**
 * Cups of each sample, by sample id, for the seats 1 to `seatCount`, over all parts.
 * @throws RangeError for more seats than the plan has.
 */
export function cupsPerSample(plan: Plan, seatCount: number): Map<string, number> {
  checkWhole('seatCount', seatCount, 0, plan.seats.length);
  const counts = new Map<string, number>();
  for (const seat of plan.seats.slice(0, seatCount)) {
    for (const { sampleId } of seat.trays.flatMap((tray) => tray.servings)) {
      counts.set(sampleId, (counts.get(sampleId) ?? 0) + 1);
    }
  }
  return counts;
}

function checkWhole(field: string, value: number, least: number, most: number): void {
  if (!Number.isInteger(value) || value < least || value > most) {
    throw new RangeError(`${field} is a whole number from ${least} to ${most}, not ${value}`);
  }
}
