import { ROLE_NAMES } from '#lib/text/role-words.ts';
import { sampleRole } from '@oddglass/shared/contracts/part.ts';
import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';

export interface SealedSample {
  id: string;
  arm: string;
  /** The part it is poured for, from 1. */
  part: number;
  /** What it is there for, in words. */
  role: string;
}

export interface SealedCup {
  position: number;
  code: string;
  /** Name of the arm as it was sealed; null when its sample leaf is not there. */
  arm: string | null;
  /** What is known of it besides its arm: a role of its sample, or a mark that everybody saw. */
  note: string | null;
}

export interface SealedTray {
  /** Place of its leaf in the seal. */
  index: number;
  /** The part it was poured for, from 1, and how often within the part. */
  part: number;
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

  const samples = read('sample', sampleOf).sort(
    (a, b) => a.part - b.part || (sampleInWords(a) < sampleInWords(b) ? -1 : 1),
  );
  const byId = new Map(samples.map((sample) => [sample.id, sample]));
  const settings = read('settings', (body) => body).flatMap((body) => settingRows(body, byId));
  const seats = new Map(read('seating', seatingOf));
  const trays = read('tray', (body, index) => {
    const cups = isList(body['servings']) ? body['servings'].map((cup) => cupOf(cup, byId)) : [];
    const { id, part, replicate } = body;
    if (typeof id !== 'string' || typeof part !== 'number' || typeof replicate !== 'number') return null;
    if (cups.length === 0) return null;
    const whole = cups.filter((cup) => cup !== null);
    if (whole.length < cups.length) return null;
    whole.sort((a, b) => a.position - b.position);
    return { index, part, replicate, cups: whole, seat: seats.get(id) ?? null };
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
  kind: 'test',
  cupsEach: 'most cups per assessor',
  by: 'asked by',
  returning: 'going back',
};

type Samples = ReadonlyMap<string, SealedSample>;
interface Row {
  name: string;
  value: string;
}

// A key without a name of its own reads as words.
const nameOf = (key: string): string =>
  NAMES[key] ?? key.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
const byName = (a: Row, b: Row): number => (a.name < b.name ? -1 : 1);

// What a setting that was left open means.
const LEFT_OPEN: Readonly<Record<string, string>> = {
  words: 'the whole vocabulary',
  cupsEach: 'every sample',
  strongerSample: 'no direction written down',
};

const rowOf = (key: string, value: unknown, samples: Samples): Row => ({
  name: nameOf(key),
  value: (value === null ? LEFT_OPEN[key] : undefined) ?? inWords(value, samples),
});

/** Settings of the session, then those of each part under its number. */
function settingRows(body: Body, samples: Samples): Row[] {
  const { parts, ...common } = body;
  const rows = Object.entries(common)
    .map(([key, value]) => rowOf(key, value, samples))
    .sort(byName);
  if (parts === undefined) return rows;
  if (!isList(parts)) return [...rows, { name: 'parts', value: inWords(parts, samples) }];
  const ofParts = parts.flatMap((part, index) =>
    isObject(part)
      ? Object.entries(part)
          .map(([key, value]) => rowOf(key, value, samples))
          .map((row) => ({ ...row, name: `part ${index + 1}: ${row.name}` }))
          .sort(byName)
      : [{ name: `part ${index + 1}`, value: inWords(part, samples) }],
  );
  return [...rows, ...ofParts];
}

/** A sealed value as a person reads it, with samples by their arm. */
function inWords(value: unknown, samples: Samples): string {
  if (value === null) return 'none';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'string') {
    const sample = samples.get(value);
    return sample ? sampleInWords(sample) : value;
  }
  if (isList(value)) {
    if (value.length === 0) return 'none';
    const items = value.map((item) => inWords(item, samples));
    return value.some(isObject) ? items.join('; ') : items.join(', ');
  }
  if (isAttribute(value)) return `${value.name}: ${value.low} to ${value.high}`;
  if (isObject(value)) {
    return Object.entries(value)
      .map(([key, inner]) => `${nameOf(key)} ${inWords(inner, samples)}`)
      .join(', ');
  }
  return JSON.stringify(value);
}

/** '14 °C vessel', '14 °C vessel (hidden duplicate)'. */
export function sampleInWords({ arm, role }: Pick<SealedSample, 'arm' | 'role'>): string {
  return role === ROLE_NAMES.sample ? arm : `${arm} (${role})`;
}

/** What was in a cup: '14 °C vessel', '14 °C vessel, reference'. */
export function cupInWords({ arm, note }: SealedCup): string {
  return [arm ?? 'unknown sample', ...(note === null ? [] : [note])].join(', ');
}

function sampleOf(body: Body): SealedSample | null {
  const { id, armName, part, role, spike, control } = body;
  if (typeof id !== 'string' || typeof armName !== 'string' || typeof part !== 'number') return null;
  return { id, arm: armName, part, role: roleInWords(role, spike, control) };
}

function roleInWords(role: unknown, spike: unknown, control: unknown): string {
  if (control === 'marked' || control === 'hidden') return `${control} control`;
  if (role === 'spiked' && typeof spike === 'string') return `${ROLE_NAMES.spiked}: ${spike}`;
  const known = sampleRole.safeParse(role);
  return known.success ? ROLE_NAMES[known.data] : String(role);
}

function seatingOf(body: Body): [string, number] | null {
  const { trayId, seat } = body;
  return typeof trayId === 'string' && typeof seat === 'number' ? [trayId, seat] : null;
}

function cupOf(cup: unknown, samples: Samples): SealedCup | null {
  if (!isObject(cup)) return null;
  const { position, code, sampleId, mark } = cup;
  if (typeof position !== 'number' || typeof code !== 'string' || typeof sampleId !== 'string') return null;
  const sample = samples.get(sampleId);
  const role = sample && sample.role !== ROLE_NAMES.sample ? sample.role : null;
  // A control that is marked says so already.
  const note = typeof mark === 'string' && mark !== 'control' ? mark : role;
  return { position, code, arm: sample?.arm ?? null, note };
}

function isList(value: unknown): value is unknown[] {
  return Array.isArray(value);
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isAttribute(value: unknown): value is { name: string; low: string; high: string } {
  return isObject(value) && ['name', 'low', 'high'].every((key) => typeof value[key] === 'string');
}
