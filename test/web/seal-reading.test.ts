import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { buildSeal } from '@oddglass/shared/design/seal.ts';
import { drawPlan } from '@oddglass/shared/design/plan-draw.ts';
import { describe, expect, it } from 'vitest';
import { readSeal, sampleInWords, traysWith } from '../../web/src/lib/seal/seal-reading.ts';

const bytes = (value: number): Uint8Array => new Uint8Array(32).fill(value);
const sample = { role: 'sample', spike: null, control: null } as const;
const SAMPLES = [
  { ...sample, id: 'sample-a', armId: 'arm-a', armName: '14 °C vessel', part: 1 },
  { ...sample, id: 'sample-b', armId: 'arm-b', armName: '22 °C vessel', part: 1 },
  { ...sample, id: 'sample-c', armId: 'arm-a', armName: '14 °C vessel', part: 2 },
  { ...sample, id: 'sample-d', armId: 'arm-a', armName: '14 °C vessel', part: 2, role: 'duplicate' },
  {
    ...sample,
    id: 'sample-e',
    armId: 'arm-b',
    armName: '22 °C vessel',
    part: 2,
    role: 'spiked',
    spike: 'lactic acid, 0.2 mL per litre',
  },
  { ...sample, id: 'sample-f', armId: 'arm-b', armName: '22 °C vessel', part: 2 },
] as const;

const plan = drawPlan({
  seats: 8,
  parts: [
    {
      kind: 'duo-trio',
      number: 1,
      replicates: 2,
      sampleIds: ['sample-a', 'sample-b'],
      reference: 'balanced',
    },
    {
      kind: 'rating',
      number: 2,
      replicates: 1,
      cupsEach: null,
      samples: SAMPLES.slice(2).map(({ id, role, armId, spike }) => ({
        id,
        role,
        sameAs: `${armId} ${spike ?? ''}`,
      })),
    },
  ],
  seed: bytes(7),
});
const { leaves } = buildSeal({
  settings: {
    spareSeats: 3,
    parts: [
      { kind: 'duo-trio', alpha: 0.05, meaningfulShare: 0.5, samples: ['sample-a', 'sample-b'] },
      {
        kind: 'rating',
        cupsEach: null,
        returning: true,
        samples: ['sample-c', 'sample-d'],
        attributes: [{ name: 'Sourness', low: 'none', high: 'very' }],
      },
    ],
  },
  samples: SAMPLES,
  plan,
  random: seededRandom(bytes(9)),
});

const without = (kind: SealLeaf['kind']): SealLeaf[] => leaves.filter((leaf) => leaf.kind !== kind);

describe('reading an opened seal', () => {
  it('joins samples, trays and seats to what the plan said', () => {
    const reading = readSeal(leaves);
    const armOf = new Map<string, string>(SAMPLES.map(({ id, armName }) => [id, armName]));
    const planned = plan.seats.flatMap(({ number, trays }) =>
      trays.map(({ part, replicate, servings }) => ({
        part,
        replicate,
        seat: number,
        cups: servings.map(({ position, code, sampleId }) => ({ position, code, arm: armOf.get(sampleId) })),
      })),
    );
    const read = reading.trays.map(({ part, replicate, seat, cups }) => ({
      part,
      replicate,
      seat,
      cups: cups.map(({ position, code, arm }) => ({ position, code, arm })),
    }));
    expect(read).toHaveLength(24);
    expect(read).toEqual(expect.arrayContaining(planned));
    expect(reading.unreadable).toEqual([]);
  });

  it('says what a cup was besides its arm', () => {
    const reading = readSeal(leaves);
    expect(reading.samples.map(sampleInWords)).toEqual([
      '14 °C vessel',
      '22 °C vessel',
      '14 °C vessel',
      '14 °C vessel (hidden duplicate)',
      '22 °C vessel',
      '22 °C vessel (spiked reference: lactic acid, 0.2 mL per litre)',
    ]);
    const notes = (part: number): Set<string | null> =>
      new Set(
        reading.trays
          .filter((tray) => tray.part === part)
          .flatMap(({ cups }) => cups.map(({ note }) => note)),
      );
    expect(notes(1)).toEqual(new Set([null, 'reference']));
    expect(notes(2)).toEqual(
      new Set([null, 'hidden duplicate', 'spiked reference: lactic acid, 0.2 mL per litre']),
    );
    for (const { cups } of reading.trays.filter(({ part }) => part === 1)) {
      expect(cups.filter(({ note }) => note === 'reference')).toHaveLength(1);
    }
  });

  it('sorts trays by the code on the left, which tells neither seat nor order of sealing', () => {
    const codes = readSeal(leaves).trays.map(({ cups }) => cups[0]?.code);
    expect(codes).toEqual([...codes].sort());
  });

  it('writes settings in words', () => {
    expect(readSeal(leaves).settings).toEqual([
      { name: 'spare seats', value: '3' },
      { name: 'part 1: alpha', value: '0.05' },
      { name: 'part 1: samples', value: '14 °C vessel, 22 °C vessel' },
      { name: 'part 1: share of discriminators that would matter', value: '0.5' },
      { name: 'part 1: test', value: 'duo-trio' },
      { name: 'part 2: attributes', value: 'Sourness: none to very' },
      { name: 'part 2: going back', value: 'yes' },
      { name: 'part 2: most cups per assessor', value: 'every sample' },
      { name: 'part 2: samples', value: '14 °C vessel, 14 °C vessel (hidden duplicate)' },
      { name: 'part 2: test', value: 'rating' },
    ]);
  });

  it('shows trays whose seating or sample stays closed', () => {
    expect(readSeal(without('seating')).trays.every(({ seat }) => seat === null)).toBe(true);
    const cups = readSeal(without('sample')).trays.flatMap((tray) => tray.cups);
    expect(cups).toHaveLength(8 * (2 * 3 + 4));
    expect(cups.every(({ arm }) => arm === null)).toBe(true);
  });

  it('names leaves it cannot read instead of leaving them out in silence', () => {
    const broken = leaves.map((leaf) =>
      leaf.kind === 'tray' ? { ...leaf, body: { ...leaf.body, servings: 'none' } } : leaf,
    );
    const reading = readSeal(broken);
    expect(reading.trays).toEqual([]);
    expect(reading.unreadable).toEqual(
      leaves.filter(({ kind }) => kind === 'tray').map(({ index }) => index),
    );
  });

  it('finds every tray with a code on it', () => {
    const { trays } = readSeal(leaves);
    const [first] = trays;
    expect(traysWith(trays, first?.cups[1]?.code ?? '')).toEqual([first]);
    expect(traysWith(trays, '000')).toEqual([]);
  });
});
