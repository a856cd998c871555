import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import { CODE_POOL, nearTwins } from '@oddglass/shared/design/codes.ts';
import { NotApartError } from '@oddglass/shared/design/flight.ts';
import {
  checkPartApart,
  cupsPerSample,
  drawPlan,
  worstCaseCupsOf,
  type FlightPartDesign,
  type PartDesign,
  type Plan,
  type PlannedTray,
} from '@oddglass/shared/design/plan-draw.ts';
import { seedOf } from './chance.ts';
import { sha256Hex } from './plain-tree.ts';

const SAMPLES = ['maple', 'birch'] as const;
const flight = (number: number, more: Partial<FlightPartDesign> = {}): FlightPartDesign => ({
  kind: 'rating',
  number,
  replicates: 1,
  cupsEach: null,
  samples: ['ash', 'elm', 'fir', 'oak', 'oak again'].map((id) => ({
    id,
    role: id === 'oak again' ? 'duplicate' : 'sample',
    sameAs: id.replace(' again', ''),
  })),
  ...more,
});
const triangle = (replicates: number, number = 1): PartDesign => ({
  kind: 'triangle',
  number,
  replicates,
  sampleIds: SAMPLES,
});
const EVENING: PartDesign[] = [
  triangle(2),
  { kind: 'duo-trio', number: 3, replicates: 1, sampleIds: ['yew', 'box'], reference: 'constant' },
  flight(4, { replicates: 2 }),
];
const plan = (seats: number, parts: PartDesign[], number = 1): Plan =>
  drawPlan({ seats, parts, seed: seedOf(number) });
const traysOf = ({ seats }: Plan): PlannedTray[] => seats.flatMap(({ trays }) => trays);
const sampleIdsOf = ({ servings }: PlannedTray) => servings.map(({ sampleId }) => sampleId);

describe('a plan', () => {
  test('puts a tray that does not count before the others, balanced by itself and apart from them', () => {
    const part: PartDesign = { ...triangle(2), warmUpTray: true } as PartDesign;
    const drawn = plan(18, [part, flight(2)]);
    for (const { trays } of drawn.seats)
      expect(trays.map(({ trayNumber, part: of, replicate }) => [trayNumber, of, replicate])).toEqual([
        [1, 1, 0],
        [2, 1, 1],
        [3, 1, 2],
        [4, 2, 1],
      ]);
    for (const replicate of [0, 1, 2]) {
      const orders = drawn.seats.map(({ trays }) =>
        sampleIdsOf(
          trays.find((tray) => tray.part === 1 && tray.replicate === replicate) as PlannedTray,
        ).join(),
      );
      // Eighteen seats: each of the six orders of ISO 4120 three times.
      expect([...Map.groupBy(orders, (order) => order).values()].map((list) => list.length)).toEqual(
        Array.from({ length: 6 }, () => 3),
      );
    }
    // Its cups have to be there too.
    const most = (design: PartDesign) => Math.max(...worstCaseCupsOf(design, 18).values());
    expect(most(part)).toBe(most(triangle(3)));
  });

  test('numbers trays through the parts in order, then by replicate, and cups from left to right', () => {
    const drawn = plan(17, EVENING);
    expect(drawn.seats.map(({ number }) => number)).toEqual(Array.from({ length: 17 }, (_, at) => at + 1));
    for (const { trays } of drawn.seats) {
      expect(trays.map(({ trayNumber, part, replicate }) => [trayNumber, part, replicate])).toEqual([
        [1, 1, 1],
        [2, 1, 2],
        [3, 3, 1],
        [4, 4, 1],
        [5, 4, 2],
      ]);
      for (const { servings } of trays) {
        expect(servings.map(({ position }) => position)).toEqual(servings.map((_, at) => at + 1));
      }
    }
    const ids = traysOf(drawn).flatMap(({ id, servings }) => [id, ...servings.map((cup) => cup.id)]);
    expect(new Set(ids).size).toBe(17 * (5 + 19));
    // Ids say nothing of the place.
    expect(ids.toSorted()).not.toEqual(ids);
  });

  test('has codes that are never twice at one seat, over all parts, and unique while they last', () => {
    const drawn = plan(120, EVENING);
    const codes = traysOf(drawn).flatMap(({ servings }) => servings.map(({ code }) => code));
    expect(codes).toHaveLength(120 * 19);
    expect(codes.every((code) => CODE_POOL.includes(code))).toBe(true);
    expect(new Set(codes.slice(0, CODE_POOL.length)).size).toBe(CODE_POOL.length);
    for (const { trays } of drawn.seats) {
      const here = trays.flatMap(({ servings }) => servings.map(({ code }) => code));
      expect(new Set(here).size).toBe(19);
      for (const { servings } of trays) {
        const twins = servings.filter(({ code }) => servings.some((other) => nearTwins(code, other.code)));
        expect(twins).toEqual([]);
      }
    }
  });

  test('is the same again from the same seed, another from another, and of fewer seats in the same orders', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 30 }), fc.nat(), (seats, number) => {
        const drawn = plan(seats, EVENING, number);
        expect(plan(seats, EVENING, number)).toEqual(drawn);
        expect(plan(seats, EVENING, number + 1)).not.toEqual(drawn);
        const more = plan(seats + 3, EVENING, number);
        expect(more.seats.slice(0, seats).map(({ trays }) => trays.map(sampleIdsOf))).toEqual(
          drawn.seats.map(({ trays }) => trays.map(sampleIdsOf)),
        );
      }),
      { numRuns: 20 },
    );
  });

  test('draws each part by itself: what follows changes nothing about its orders', () => {
    const alone = traysOf(plan(9, [triangle(2)], 5)).map(sampleIdsOf);
    const first = traysOf(plan(9, EVENING, 5)).filter(({ part }) => part === 1);
    expect(first.map(sampleIdsOf)).toEqual(alone);
  });

  test('stays what a stored seed once gave', () => {
    // No outside source: it pins the drawing as it is. A plan is kept as it was drawn and nothing draws it again from its
    // seed; should something ever have to, a drawing that changes needs a version beside the seed.
    expect(sha256Hex(canonicalJson(plan(31, EVENING, 2026)))).toBe(
      '1be14a170cbd24ef29f1ad40c07c89397d249fbcbee385cd49cde095dc8062a1',
    );
  });

  test('leaves what it is given untouched', () => {
    const seed = seedOf(5);
    const parts = structuredClone(EVENING);
    drawPlan({ seats: 7, parts, seed });
    expect(seed).toEqual(seedOf(5));
    expect(parts).toEqual(EVENING);
  });

  test.each([
    ['no seat', { seats: 0 }],
    ['401 seats', { seats: 401 }],
    ['half a seat', { seats: 1.5 }],
    ['no part', { parts: [] }],
    ['five parts', { parts: [1, 2, 3, 4, 5].map((number) => triangle(1, number)) }],
    ['no replicate', { parts: [triangle(0)] }],
    ['five replicates', { parts: [triangle(5)] }],
    ['replicates that are no number', { parts: [triangle(Number.NaN)] }],
    ['a short seed', { seed: new Uint8Array(31) }],
    ['a sample twice', { parts: [flight(1, { samples: [...flight(1).samples, ...flight(1).samples] })] }],
  ])('is refused for %s', (_, bad) => {
    const good = { seats: 6, parts: [triangle(2)], seed: seedOf(1) };
    expect(() => drawPlan({ ...good, ...bad })).toThrow(RangeError);
  });
});

describe('a flight in the plan', () => {
  const warm = { id: 'ivy', role: 'warm-up' as const, sameAs: 'oak' };

  test('has its warm-up first at every seat, whatever is in it', () => {
    const samples = [...flight(1).samples, warm];
    for (const tray of traysOf(plan(40, [flight(1, { samples, replicates: 2 })]))) {
      expect(sampleIdsOf(tray)[0]).toBe('ivy');
      expect(sampleIdsOf(tray).toSorted()).toEqual(samples.map(({ id }) => id).toSorted());
      expect(tray.servings.every(({ mark }) => mark === null)).toBe(true);
    }
  });

  test.each([
    ['six samples', ['ash', 'box', 'elm', 'fir', 'oak', 'yew'], 1],
    ['four samples, each twice', ['ash', 'ash', 'elm', 'elm', 'fir', 'fir', 'oak', 'oak'], 8],
  ])(
    'of %s: places and carry-over within one as served, warm-up aside, and no duplicates in a row',
    (_, liquids, every) => {
      const samples = [
        ...liquids.map((sameAs, at) => ({ id: `cup ${at}`, role: 'sample' as const, sameAs })),
        { ...warm, sameAs: 'pine' },
      ];
      const liquidOf = new Map(samples.map(({ id, sameAs }) => [id, sameAs]));
      const { seats } = plan(48, [triangle(1), flight(2, { samples, replicates: 2 })], 7);
      for (const replicate of [1, 2]) {
        const places = new Map<string, number>();
        const carry = new Map<string, number>();
        for (const { id, role } of samples) {
          if (role === 'warm-up') continue;
          for (let place = 1; place <= liquids.length; place++) places.set(`${id} ${place}`, 0);
          for (const other of samples) {
            if (other.role !== 'warm-up' && other.sameAs !== liquidOf.get(id))
              carry.set(`${id} ${other.id}`, 0);
          }
        }
        for (const { number, trays } of seats) {
          const tray = trays.find((one) => one.part === 2 && one.replicate === replicate);
          const [first, ...order] = tray ? sampleIdsOf(tray) : [];
          expect(first).toBe('ivy');
          order.forEach((id, at) => {
            places.set(`${id} ${at + 1}`, (places.get(`${id} ${at + 1}`) ?? NaN) + 1);
            const before = order[at - 1];
            if (before === undefined) return;
            expect(liquidOf.get(before)).not.toBe(liquidOf.get(id));
            carry.set(`${before} ${id}`, (carry.get(`${before} ${id}`) ?? NaN) + 1);
          });
          for (const counts of [places, ...(number % every === 0 ? [carry] : [])]) {
            expect(Math.max(...counts.values()) - Math.min(...counts.values())).toBeLessThanOrEqual(1);
          }
        }
      }
    },
  );

  test('with a control has the marked cup first, then the warm-up, and the hidden one in any place', () => {
    const control = { sampleId: 'marked', hiddenSampleId: 'hidden' };
    const samples = [
      ...['ash', 'elm', 'fir'].map((id) => ({ id, role: 'sample' as const, sameAs: id })),
      warm,
    ];
    const drawn = plan(40, [flight(1, { kind: 'control', samples, control })]);
    const places = new Map<number, number>();
    for (const { servings } of traysOf(drawn)) {
      expect(servings.map(({ mark }) => mark)).toEqual(['control', null, null, null, null, null]);
      expect(servings.slice(0, 2).map(({ sampleId }) => sampleId)).toEqual(['marked', 'ivy']);
      const place = servings.findIndex(({ sampleId }) => sampleId === 'hidden');
      places.set(place, (places.get(place) ?? 0) + 1);
    }
    expect(Object.fromEntries(places)).toEqual({ 2: 10, 3: 10, 4: 10, 5: 10 });
    // Listed among the samples as well, it is still one cup.
    const listed = [...samples, { id: 'hidden', role: 'sample' as const, sameAs: 'control' }];
    const again = plan(4, [flight(1, { kind: 'control', samples: listed, control })]);
    expect(traysOf(again).map(({ servings }) => servings.length)).toEqual([6, 6, 6, 6]);
  });

  test('of fewer cups each has that many besides warm-up and marked cup', () => {
    const control = { sampleId: 'marked', hiddenSampleId: 'hidden' };
    const samples = [
      ...['ash', 'elm', 'fir', 'oak'].map((id) => ({ id, role: 'sample' as const, sameAs: id })),
      warm,
    ];
    const drawn = plan(20, [flight(1, { kind: 'control', samples, control, cupsEach: 3 })]);
    for (const tray of traysOf(drawn)) {
      expect(new Set(sampleIdsOf(tray)).size).toBe(5);
      expect(sampleIdsOf(tray).slice(0, 2)).toEqual(['marked', 'ivy']);
    }
  });

  test('whose cups cannot be kept apart is refused with a sentence for the host', () => {
    const twice = flight(1).samples.filter(({ sameAs }) => sameAs === 'oak');
    for (const part of [flight(1, { samples: twice }), flight(1, { cupsEach: 2 })]) {
      expect(() => checkPartApart(part)).toThrow(NotApartError);
      expect(() => plan(4, [part])).toThrow(NotApartError);
      expect(() => plan(4, [part])).toThrow(/side by side/);
    }
    for (const part of EVENING) expect(() => checkPartApart(part)).not.toThrow();
  });
});

describe('cups', () => {
  const parts: [string, PartDesign][] = [
    ['triangle', triangle(1)],
    ['triangle, three trays', triangle(3)],
    ['tetrad', { ...triangle(2), kind: 'tetrad' } as PartDesign],
    [
      'duo-trio, constant',
      { kind: 'duo-trio', number: 1, replicates: 1, sampleIds: SAMPLES, reference: 'constant' },
    ],
    ['duo-trio, balanced', { kind: 'duo-trio', number: 1, replicates: 1, sampleIds: SAMPLES }],
    ['3-AFC', { kind: 'three-afc', number: 1, replicates: 2, sampleIds: SAMPLES, strongerSampleId: 'birch' }],
    ['pair', { kind: 'directional-pair', number: 1, replicates: 1, sampleIds: SAMPLES }],
    ['flight', flight(1, { replicates: 2 })],
    ['control', flight(1, { kind: 'control', control: { sampleId: 'marked', hiddenSampleId: 'hidden' } })],
  ];

  test('at worst: two-out-of-five needs no more at any number of seats, and as many at few and at whole sets', () => {
    const part = { ...triangle(1), kind: 'two-out-of-five' } as PartDesign;
    const most = Array.from({ length: 25 }, () => 0);
    for (let number = 0; number < 100; number++) {
      const drawn = plan(24, [part], number);
      for (let seats = 1; seats <= 24; seats++) {
        most[seats] = Math.max(most[seats] ?? 0, ...cupsPerSample(drawn, seats).values());
      }
    }
    for (let seats = 1; seats <= 24; seats++) {
      const [maple, birch] = worstCaseCupsOf(part, seats).values();
      expect(birch).toBe(maple);
      expect(most[seats]).toBeLessThanOrEqual(maple ?? 0);
      // Twenty orders hold fifty cups of each; of the first few seats each may have three.
      if (seats <= 3) expect(most[seats]).toBe(3 * seats);
      if (seats === 20) expect([most[seats], maple]).toEqual([50, 50]);
    }
  });

  test.each(parts)('at worst: %s needs no more at any number of seats, and sometimes as many', (_, part) => {
    const most = Array.from({ length: 13 }, () => new Map<string, number>());
    for (let number = 0; number < 150; number++) {
      const drawn = plan(12, [part], number);
      for (let seats = 1; seats <= 12; seats++) {
        for (const [sample, cups] of cupsPerSample(drawn, seats)) {
          most[seats]?.set(sample, Math.max(most[seats]?.get(sample) ?? 0, cups));
        }
      }
    }
    for (let seats = 1; seats <= 12; seats++) {
      const worst = worstCaseCupsOf(part, seats);
      for (const [sample, cups] of most[seats] ?? [])
        expect(cups).toBeLessThanOrEqual(worst.get(sample) ?? 0);
      // Trays are drawn each by itself, so that the worst of all at once is rare: it was met where it is likely.
      if (part.replicates === 1 || seats === 1 || seats === 6)
        expect(Object.fromEntries(most[seats] ?? [])).toEqual(Object.fromEntries(worst));
    }
  });

  test('at worst in incomplete blocks are never exceeded', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 4, max: 12 }),
        fc.integer({ min: 2, max: 11 }),
        fc.integer({ min: 1, max: 60 }),
        fc.nat(),
        (samples, cupsEach, seats, number) => {
          fc.pre(cupsEach < samples);
          const part = flight(1, {
            cupsEach,
            samples: Array.from({ length: samples }, (_, at) => ({
              id: `cup ${at}`,
              role: 'sample' as const,
              sameAs: `cup ${at}`,
            })),
          });
          const worst = worstCaseCupsOf(part, seats);
          for (const [sample, cups] of cupsPerSample(plan(seats, [part], number), seats)) {
            expect(cups).toBeLessThanOrEqual(worst.get(sample) ?? 0);
          }
        },
      ),
      { numRuns: 60 },
    );
  });

  test('of the triangle: nine of each in six trays, and two in each of three more', () => {
    const worst = (seats: number, replicates: number) =>
      worstCaseCupsOf(triangle(replicates), seats).get('maple');
    expect([0, 1, 3, 4, 6, 12].map((seats) => worst(seats, 1))).toEqual([0, 2, 6, 7, 9, 18]);
    expect(worst(12, 4)).toBe(72);
  });

  test('are counted by sample, for the seats asked for', () => {
    const drawn = plan(6, [triangle(1)]);
    expect(Object.fromEntries(cupsPerSample(drawn, 6))).toEqual({ maple: 9, birch: 9 });
    expect(cupsPerSample(drawn, 0).size).toBe(0);
    for (const count of [-1, 7, 1.5]) expect(() => cupsPerSample(drawn, count)).toThrow(RangeError);
  });

  test.each([
    [-1, 1],
    [401, 1],
    [2.5, 1],
    [2, 0],
    [2, 5],
  ])('are refused for %d seats with %d trays', (seats, replicates) => {
    expect(() => worstCaseCupsOf(triangle(replicates), seats)).toThrow(RangeError);
  });
});
