import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';

export interface SealedSample {
  id: string;
  arm: string;
}

export interface SealedCup {
  position: number;
  code: string;
  /** Name of the arm as it was sealed; null when its sample leaf is not there. */
  arm: string | null;
}

export interface SealedTray {
  /** Place of its leaf in the seal. */
  index: number;
  replicate: number;
  /** Left to right. */
  cups: SealedCup[];
  /** From the seating leaf; null when that is not opened. */
  seat: number | null;
}

/** The opened seal, as a person reads it. */
export interface SealReading {
  settings: { name: string; value: string }[];
  samples: SealedSample[];
  /** By the code on the left. */
  trays: SealedTray[];
  /** Indices of leaves that do not say what their kind should say. */
  unreadable: number[];
}

type Body = SealLeaf['body'];

/** Joins the leaves: which cup held which arm, and who sat where. Checks nothing; the seal's check does. */
export function readSeal(leaves: readonly SealLeaf[]): SealReading {
  const unreadable: number[] = [];
  const read = <T>(kind: SealLeaf['kind'], reader: (body: Body, index: number) => T | null): T[] =>
    leaves
      .filter((leaf) => leaf.kind === kind)
      .flatMap((leaf) => {
        const value = reader(leaf.body, leaf.index);
        if (value === null) unreadable.push(leaf.index);
        return value === null ? [] : [value];
      });

  const settings = read('settings', (body) => body).flatMap(settingRows);
  const samples = read('sample', sampleOf).sort((a, b) => (a.arm < b.arm ? -1 : 1));
  const arms = new Map(samples.map(({ id, arm }) => [id, arm]));
  const seats = new Map(read('seating', seatingOf));
  const trays = read('tray', (body, index) => {
    const cups = isList(body['servings']) ? body['servings'].map((cup) => cupOf(cup, arms)) : [];
    const { id, replicate } = body;
    if (typeof id !== 'string' || typeof replicate !== 'number' || cups.length === 0) return null;
    const whole = cups.filter((cup) => cup !== null);
    if (whole.length < cups.length) return null;
    whole.sort((a, b) => a.position - b.position);
    return { index, replicate, cups: whole, seat: seats.get(id) ?? null };
  }).sort((a, b) => ((a.cups[0]?.code ?? '') < (b.cups[0]?.code ?? '') ? -1 : 1));
  return { settings, samples, trays, unreadable };
}

/** The trays with this code on a cup. Large sessions run out of codes and use them again on other trays. */
export function traysWith(trays: readonly SealedTray[], code: string): SealedTray[] {
  return trays.filter(({ cups }) => cups.some((cup) => cup.code === code));
}

const NAMES: Readonly<Record<string, string>> = {
  assessors: 'expected assessors',
  replicates: 'trays per assessor',
  meaningfulShare: 'share of discriminators that would matter',
  cupMl: 'mL per cup',
  restSeconds: 'rest between trays, seconds',
};

// A key without a name of its own reads as words; nested values stay as they were hashed.
function settingRows(body: Body): { name: string; value: string }[] {
  return Object.entries(body)
    .map(([key, value]) => ({
      name: NAMES[key] ?? key.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`),
      value: typeof value === 'string' ? value : JSON.stringify(value),
    }))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

function sampleOf(body: Body): SealedSample | null {
  const { id, armName } = body;
  return typeof id === 'string' && typeof armName === 'string' ? { id, arm: armName } : null;
}

function seatingOf(body: Body): [string, number] | null {
  const { trayId, seat } = body;
  return typeof trayId === 'string' && typeof seat === 'number' ? [trayId, seat] : null;
}

function cupOf(cup: unknown, arms: ReadonlyMap<string, string>): SealedCup | null {
  if (typeof cup !== 'object' || cup === null) return null;
  const { position, code, sampleId } = cup as Record<string, unknown>;
  if (typeof position !== 'number' || typeof code !== 'string' || typeof sampleId !== 'string') return null;
  return { position, code, arm: arms.get(sampleId) ?? null };
}

function isList(value: unknown): value is unknown[] {
  return Array.isArray(value);
}
