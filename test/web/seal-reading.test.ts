import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';
import { seededRandom } from '@oddglass/shared/design/random.ts';
import { buildSeal } from '@oddglass/shared/design/seal.ts';
import { drawTrianglePlan } from '@oddglass/shared/design/triangle.ts';
import { describe, expect, it } from 'vitest';
import { readSeal, traysWith } from '../../web/src/lib/seal/seal-reading.ts';

const bytes = (value: number): Uint8Array => new Uint8Array(32).fill(value);
const SAMPLES = [
  { id: 'sample-a', armId: 'arm-a', armName: '14 °C vessel' },
  { id: 'sample-b', armId: 'arm-b', armName: '22 °C vessel' },
] as const;

const plan = drawTrianglePlan({
  seats: 8,
  replicates: 2,
  sampleIds: [SAMPLES[0].id, SAMPLES[1].id],
  seed: bytes(7),
});
const { leaves } = buildSeal({
  settings: { test: 'triangle', alpha: 0.05, meaningfulShare: 0.5, side: 'upper', spareSeats: 3 },
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
      trays.map(({ replicate, servings }) => ({
        replicate,
        seat: number,
        cups: servings.map(({ position, code, sampleId }) => ({ position, code, arm: armOf.get(sampleId) })),
      })),
    );
    const read = reading.trays.map(({ replicate, seat, cups }) => ({ replicate, seat, cups }));
    expect(read).toHaveLength(16);
    expect(read).toEqual(expect.arrayContaining(planned));
    expect(reading.unreadable).toEqual([]);
    expect(reading.samples.map(({ arm }) => arm)).toEqual(['14 °C vessel', '22 °C vessel']);
  });

  it('sorts trays by the code on the left, which tells neither seat nor order of sealing', () => {
    const codes = readSeal(leaves).trays.map(({ cups }) => cups[0]?.code);
    expect(codes).toEqual([...codes].sort());
  });

  it('writes settings in words', () => {
    expect(readSeal(leaves).settings).toEqual([
      { name: 'alpha', value: '0.05' },
      { name: 'share of discriminators that would matter', value: '0.5' },
      { name: 'side', value: 'upper' },
      { name: 'spare seats', value: '3' },
      { name: 'test', value: 'triangle' },
    ]);
  });

  it('shows trays whose seating or sample stays closed', () => {
    expect(readSeal(without('seating')).trays.every(({ seat }) => seat === null)).toBe(true);
    const cups = readSeal(without('sample')).trays.flatMap((tray) => tray.cups);
    expect(cups).toHaveLength(48);
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
