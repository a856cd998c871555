import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { Part, RatingPart } from '@oddglass/shared/contracts/part.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { orderBalance } from '@oddglass/shared/design/williams.ts';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  draft,
  moved,
  newTrial,
  seated,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { keyOf } from '../support/simulated-panel.ts';

// Order properties of plans as they are served: read from the stored servings, not from the drawing.
// Balance over places and ordered neighbours: Williams 1949; ISO 29842 (from memory) asks for both.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let trial: TrialView;

useStewardsPanel((panel) => ({ server, host, steward } = panel));
beforeAll(async () => {
  trial = await newTrial(host, {
    arms: ['Cool', 'Warm', 'Wild', 'Oak'].map((name) => ({
      name,
      differs: `the ${name.toLowerCase()} one`,
      volumeMl: 50_000,
      abv: 4,
      allergens: [],
    })),
  });
});

const attributes = [{ id: 'bitterness', name: 'bitterness', low: 'none', high: 'strong' }];
const sample = (arm: number, role: 'sample' | 'duplicate' | 'warm-up' = 'sample') => ({
  armId: trial.arms[arm]!.id,
  role,
  spike: null,
});

function rating(change: Partial<RatingPart> = {}): RatingPart {
  return {
    kind: 'rating',
    cups: 'own',
    samples: trial.arms.map((_, arm) => sample(arm)),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    attributes,
    scale: 'line',
    by: 'sample',
    returning: false,
    ...change,
  };
}

/** Orders as served, tray by tray in the order of seats: ids of samples left to right, warm-ups and marked cups apart. */
async function served(assessors: number, parts: Part[]) {
  const sealed = await moved(
    host,
    await draft(host, trial, { assessors, spareSeats: 0, cupMl: 30, parts }),
    'seal',
  );
  const { servings, samples } = await keyOf(server, sealed.id);
  const trays = [...Map.groupBy(servings, ({ trayId }) => trayId).values()]
    .map((cups) => cups.toSorted((a, b) => a.position - b.position))
    .sort((a, b) => a[0]!.seat - b[0]!.seat || a[0]!.trayNumber - b[0]!.trayNumber);
  const tasted = trays.map((cups) =>
    cups.filter(({ sampleId, mark }) => mark === null && samples.get(sampleId)?.role !== 'warm-up'),
  );
  return {
    sealed,
    trays,
    tasted,
    samples,
    orders: tasted.map((cups) => cups.map(({ sampleId }) => sampleId)),
  };
}

describe('the plan as it is served', () => {
  test.each([4, 8, 12, 10])(
    'four samples to %i people: places and neighbours balanced within one',
    async (people) => {
      const { orders } = await served(people, [rating()]);
      const balance = orderBalance({ samples: [...new Set(orders.flat())], orders });
      expect(balance.placeSpread).toBeLessThanOrEqual(1);
      expect(balance.carryOverSpread).toBeLessThanOrEqual(1);
    },
  );

  test('four arms, each served twice: nobody gets one liquid twice in a row, and the rest stays balanced', async () => {
    const samples = [
      ...trial.arms.map((_, arm) => sample(arm)),
      ...trial.arms.map((_, arm) => sample(arm, 'duplicate')),
    ];
    const { tasted, orders } = await served(16, [rating({ samples })]);
    for (const cups of tasted) {
      expect(cups).toHaveLength(8);
      cups.slice(1).forEach((cup, at) => expect(cup.armId).not.toBe(cups[at]!.armId));
    }
    const ids = [...new Set(orders.flat())];
    const { places, carryOver } = orderBalance({ samples: ids, orders });
    const counts = places.flat();
    expect(Math.max(...counts) - Math.min(...counts)).toBeLessThanOrEqual(1);
    // Pairs of one liquid never meet; over all others neighbours are balanced.
    const armOf = new Map(tasted.flat().map(({ sampleId, armId }) => [sampleId, armId]));
    const pairs = carryOver.flatMap((row, from) =>
      row.filter((_, to) => from !== to && armOf.get(ids[from]!) !== armOf.get(ids[to]!)),
    );
    expect(Math.max(...pairs) - Math.min(...pairs)).toBeLessThanOrEqual(1);
  });

  test('a warm-up comes first at every seat, and a marked control before its hidden double', async () => {
    const { trays, samples } = await served(6, [
      rating({ samples: [sample(0, 'warm-up'), sample(1), sample(2)] }),
      {
        kind: 'control',
        cups: 'own',
        samples: [sample(1), sample(2)],
        controlArmId: trial.arms[0]!.id,
        degrees: ['none', 'slight', 'clear'],
        replicates: 1,
        cupsEach: null,
        alpha: 0.05,
      },
    ]);
    for (const cups of trays) {
      const [first, ...rest] = cups.map(({ sampleId, mark }) => ({ mark, ...samples.get(sampleId)! }));
      if (first!.part === 1) expect(first).toMatchObject({ role: 'warm-up', mark: null });
      else {
        expect(first).toMatchObject({ control: 'marked', mark: 'control' });
        expect(rest.filter(({ control }) => control === 'hidden')).toHaveLength(1);
        expect(rest.every(({ mark }) => mark === null)).toBe(true);
      }
    }
  });

  test('three cups each of four samples: every pair of samples is met equally often', async () => {
    const { orders } = await served(12, [rating({ cupsEach: 3 })]);
    const pairs = new Map<string, number>();
    for (const order of orders) {
      expect(order).toHaveLength(3);
      for (const [at, one] of order.entries()) {
        for (const other of order.slice(at + 1)) {
          const key = [one, other].sort().join();
          pairs.set(key, (pairs.get(key) ?? 0) + 1);
        }
      }
    }
    expect([...pairs.values()]).toEqual(Array(6).fill(6));
  });

  test('two cups of one liquid and nothing between them are refused', async () => {
    const samples = [sample(0), sample(0, 'duplicate')];
    const planned = await draft(host, trial, { assessors: 4, spareSeats: 0, parts: [rating({ samples })] });
    const refused = await host.caller.call('POST', `/api/sessions/${planned.id}/seal`, {});
    expect(refused.status).toBe(400);
    expect(refused.text).toMatch(/problems\/invalid-input/);
  });
});

test('a part on the cups before it is asked without other cups', async () => {
  const parts: Part[] = [
    rating(),
    { kind: 'liking', cups: 'before', samples: [], replicates: 1, cupsEach: null, alpha: 0.05 },
  ];
  const open = await moved(
    host,
    await draft(host, trial, { assessors: 4, spareSeats: 0, parts }),
    'seal',
    'open',
  );
  const tablet = await seated(server.app, open, 1);
  const { trays, session } = await tablet.ok<SeatView>('GET', '/api/seat');
  expect(trays).toHaveLength(1);
  expect(trays[0]!.servings).toHaveLength(4);
  expect(trays[0]!.sheets.map(({ part, codes }) => `${part} ${codes.length}`)).toEqual([
    ...Array(4).fill('1 1'),
    ...Array(4).fill('2 1'),
  ]);
  expect(session.parts.map(({ kind }) => kind)).toEqual(['rating', 'liking']);
  expect(JSON.stringify(session)).not.toMatch(/Cool|Warm|Wild|Oak|armId/);
});

test('the steward pours a duplicate from the bottle of its arm, and a spiked sample from one of its own', async () => {
  const samples = [
    sample(0),
    sample(1),
    sample(0, 'duplicate'),
    {
      ...sample(0),
      role: 'spiked' as const,
      spike: '2 mL of vanilla extract in a litre',
      spikeAllergens: ['nuts' as const],
      spikeAbv: 'none' as const,
    },
  ];
  const open = await moved(
    host,
    await draft(host, trial, { assessors: 2, spareSeats: 0, parts: [rating({ samples })] }),
    'seal',
    'open',
  );
  const pour = await steward.caller.ok<PourView>('GET', `/api/sessions/${open.id}/pour`);
  expect(pour.samples.map(({ arm, spike, cups }) => [arm, spike, cups.length])).toEqual([
    ['Cool', null, 4],
    ['Cool', '2 mL of vanilla extract in a litre', 2],
    ['Warm', null, 2],
  ]);
  const tablet = await seated(server.app, open, 1);
  const { session } = await tablet.ok<SeatView>('GET', '/api/seat');
  expect(session.cautions.allergens).toEqual(['nuts']);
});
