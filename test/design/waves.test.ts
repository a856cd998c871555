import type { FlightPartKind } from '@oddglass/shared/kinds/kind.ts';
import { CHOICES, FLIGHTS } from '@oddglass/shared/kinds/kinds.ts';
import { choiceOrders } from '@oddglass/shared/design/choice-orders.ts';
import { incompleteBlockDesign } from '@oddglass/shared/design/incomplete-blocks.ts';
import {
  drawPlan,
  type ChoicePartDesign,
  type FlightPartDesign,
  type PartDesign,
} from '@oddglass/shared/design/plan-draw.ts';
import { seatsOfWave, waveCount, wavesOf } from '@oddglass/shared/rules/waves.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seedOf } from './chance.ts';

// Waves are runs of seats by number, and the draw knows nothing of them. What it promises of the seats 1 to s, for every s,
// so holds over all waves called so far. A single wave is the difference of two such counts: where those of any two orders
// lie within b of each other, those of one wave lie within 2b. A wave that begins with a new set of orders lies within b,
// and one that also ends with a set is even.

/** For each seat, in a fixed order of trays, what is counted. */
type Counted = string[][];

const orderOf = (cups: readonly { sampleId: string }[]): string =>
  cups.map(({ sampleId }) => sampleId).join(' ');

/** Orders served in one replicate of the part, seat by seat. */
function columns(part: PartDesign, seats: number, seed: number): string[][][] {
  const { seats: drawn } = drawPlan({ seats, parts: [part], seed: seedOf(seed) });
  return Array.from({ length: part.replicates }, (_, at) =>
    drawn.map(({ trays }) => {
      const tray = trays.find(({ replicate }) => replicate === at + 1);
      return (tray?.servings ?? []).map(({ sampleId }) => sampleId);
    }),
  );
}

/** Most less least of how often each of `all` comes up in these seats. */
function spread(seats: Counted, all: readonly string[]): number {
  const counts = new Map(all.map((one) => [one, 0]));
  for (const one of seats.flat()) {
    expect(counts.has(one), `${one} is none of those that are dealt`).toBe(true);
    counts.set(one, (counts.get(one) ?? 0) + 1);
  }
  return Math.max(...counts.values()) - Math.min(...counts.values());
}

/** Holds the waves of these seats to what follows from a balance to within `bound` over the seats 1 to s. */
function expectBalanced(
  counted: Counted,
  {
    all,
    bound,
    set,
    seatsAtOnce,
  }: { all: readonly string[]; bound: number; set: number; seatsAtOnce: number },
): void {
  const waves = wavesOf({ assessors: counted.length, spareSeats: 0, seatsAtOnce }, 1);
  if (!waves) return;
  for (let wave = 1; wave <= waveCount(waves); wave += 1) {
    const { from, to } = seatsOfWave(waves, wave);
    const seats = `seats ${from} to ${to}`;
    expect(spread(counted.slice(0, to), all), `seats 1 to ${to}`).toBeLessThanOrEqual(bound);
    const begins = (from - 1) % set === 0;
    const own = spread(counted.slice(from - 1, to), all);
    expect(own, seats).toBeLessThanOrEqual(begins ? bound : 2 * bound);
    if (begins && to % set === 0) expect(own, `${seats}, whole sets`).toBe(0);
  }
}

const drawn = {
  seats: fc.integer({ min: 2, max: 60 }),
  seatsAtOnce: fc.integer({ min: 1, max: 30 }),
  replicates: fc.integer({ min: 1, max: 4 }),
  seed: fc.nat(),
};

const SAMPLES = ['maple', 'birch'] as const;
const choices = Object.keys(CHOICES).flatMap((kind): [string, ChoicePartDesign][] => {
  const part = { kind, number: 1, replicates: 1, sampleIds: SAMPLES } as ChoicePartDesign;
  if (kind === 'duo-trio')
    return (['balanced', 'constant'] as const).map((reference) => [
      `${kind}, ${reference} reference`,
      { ...part, reference },
    ]);
  const named = kind === 'three-afc' || kind === 'directional-pair';
  return [[kind, named ? { ...part, strongerSampleId: 'birch' } : part]];
});

describe.each(choices)('%s', (_name, design) => {
  test('each order is as common as each other: to within one over the waves so far, to within two in one of them', () => {
    fc.assert(
      fc.property(fc.record(drawn), ({ seats, seatsAtOnce, replicates, seed }) => {
        const part = { ...design, replicates };
        const { orders } = choiceOrders(part);
        for (const column of columns(part, seats, seed)) {
          const counted = column.map((cups) => [cups.join(' ')]);
          // Which sample is A may be a matter of chance; there are as many orders either way.
          const found = [...new Set(counted.flat())];
          const all = [
            ...found,
            ...Array.from({ length: orders.length - found.length }, (_, at) => `- ${at}`),
          ];
          expect(all).toHaveLength(orders.length);
          expectBalanced(counted, { all, bound: 1, set: orders.length, seatsAtOnce });
        }
      }),
      { numRuns: 60 },
    );
  });
});

const names = (count: number): string[] => Array.from({ length: count }, (_, at) => `s${at + 1}`);
const flight = (kind: FlightPartKind, ids: readonly string[], replicates: number): FlightPartDesign => ({
  kind,
  number: 1,
  replicates,
  cupsEach: null,
  samples: ids.map((id) => ({ id, role: 'sample', sameAs: id })),
  ...(kind === 'control' && { control: { sampleId: 'marked', hiddenSampleId: ids[0] ?? '' } }),
});

describe.each(Object.keys(FLIGHTS) as FlightPartKind[])('%s', (kind) => {
  test('each sample has each place as often: to within one over the waves so far, to within two in one of them', () => {
    fc.assert(
      fc.property(
        fc.record({ ...drawn, samples: fc.integer({ min: 2, max: 8 }) }),
        ({ seats, seatsAtOnce, replicates, seed, samples }) => {
          const ids = names(samples);
          for (const column of columns(flight(kind, ids, replicates), seats, seed)) {
            const cups = column.map((tray) => tray.filter((id) => id !== 'marked'));
            const places = cups.map((tray) => tray.map((id, place) => `${id} at ${place + 1}`));
            const all = ids.flatMap((id) => ids.map((_, place) => `${id} at ${place + 1}`));
            expectBalanced(places, { all, bound: 1, set: samples, seatsAtOnce });
            const pairs = cups.map((tray) => tray.slice(1).map((id, at) => `${tray[at]} ${id}`));
            const after = ids.flatMap((id) => ids.filter((one) => one !== id).map((one) => `${one} ${id}`));
            // No Latin square of an odd number balances what follows what: two is the least there is, and four in one wave.
            const odd = samples % 2 === 1;
            expectBalanced(pairs, {
              all: after,
              bound: odd ? 2 : 1,
              set: odd ? 2 * samples : samples,
              seatsAtOnce,
            });
          }
        },
      ),
      { numRuns: 60 },
    );
  });
});

test('hidden duplicates: places within one over the waves so far, within two in one of them', () => {
  fc.assert(
    fc.property(fc.record(drawn), ({ seats, seatsAtOnce, replicates, seed }) => {
      const ids = [...names(4), 's1 again'];
      const samples = ids.map((id) => ({ id, role: 'sample' as const, sameAs: id.replace(' again', '') }));
      for (const column of columns({ ...flight('rating', ids, replicates), samples }, seats, seed)) {
        const places = column.map((tray) => tray.map((id, place) => `${id} at ${place + 1}`));
        const all = ids.flatMap((id) => ids.map((_, place) => `${id} at ${place + 1}`));
        expectBalanced(places, { all, bound: 1, set: Infinity, seatsAtOnce });
      }
    }),
    { numRuns: 40 },
  );
});

test('incomplete blocks: servings within two over the waves so far, within four in one of them', () => {
  fc.assert(
    fc.property(
      fc.record({ ...drawn, cupsEach: fc.integer({ min: 2, max: 5 }) }),
      ({ seats, seatsAtOnce, seed, cupsEach }) => {
        const ids = names(cupsEach + 2);
        // With one flight each: with several, seats change flights so that nobody gets one twice, and no bound is promised.
        const part = { ...flight('rating', ids, 1), cupsEach };
        const set = incompleteBlockDesign({ samples: ids.length, perBlock: cupsEach }).blocks.length;
        for (const column of columns(part, seats, seed))
          expectBalanced(column, { all: ids, bound: 2, set, seatsAtOnce });
      },
    ),
    { numRuns: 40 },
  );
});

test('the draw is the same with waves and without: they are not told to it', () => {
  const part: PartDesign = { kind: 'triangle', number: 1, replicates: 1, sampleIds: SAMPLES };
  const all = drawPlan({ seats: 15, parts: [part], seed: seedOf(4) });
  const one = drawPlan({ seats: 4, parts: [part], seed: seedOf(4) });
  const served = (plan: typeof all) =>
    plan.seats.map(({ trays }) => trays.map(({ servings }) => orderOf(servings)));
  expect(served(all).slice(0, 4)).toEqual(served(one));
});

test('two is reached: no smaller bound holds for a wave that begins within a set of orders', () => {
  const reached = Array.from({ length: 200 }, (_, seed) => {
    const part: PartDesign = { kind: 'triangle', number: 1, replicates: 1, sampleIds: SAMPLES };
    const [column = []] = columns(part, 15, seed);
    const counted = column.map((cups) => [cups.join(' ')]);
    const all = [...new Set(counted.flat())];
    const waves = wavesOf({ assessors: 15, spareSeats: 0, seatsAtOnce: 4 }, 1)!;
    return Math.max(
      ...[2, 3, 4].map((wave) => {
        const { from, to } = seatsOfWave(waves, wave);
        return spread(counted.slice(from - 1, to), all);
      }),
    );
  });
  expect(Math.max(...reached)).toBe(2);
});
