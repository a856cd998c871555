// What the verifier (verify.ts) reads of the published format, and the text that is hashed. Told in README.md of a package.

/** One thing that was looked at. `found` and `expected` are equal when `ok`; otherwise they say what differs. */
export interface Check {
  name: string;
  ok: boolean;
  found: string;
  expected: string;
}
export type Fields = Record<string, unknown>;
/** A figure; null where it is withheld, or there is none. */
export type Maybe = number | null;
export const numberOf = (value: unknown): Maybe => (typeof value === 'number' ? value : null);
export interface Leaf {
  index: number;
  kind: string;
  nonce: string;
  body: Fields;
  proof: string[];
}
export type MarkedSample = Record<'n' | 'assessors' | 'declined' | 'unanswered' | 'mean', Maybe> & {
  sample: string;
  estimated?: Fields | null;
  counts?: { value: number; marks: Maybe }[];
};
export type Rows = Fields[];
/** One list of marks: of an attribute, of degrees of difference, of liking. */
export interface Marks extends Fields {
  samples: MarkedSample[];
  n?: Maybe;
  assessors?: Maybe;
  declined?: Maybe;
  unanswered?: Maybe;
  verdict?: Fields | null;
  test?: Fields | null;
  pairs?: (Fields & { first: string; second: string })[];
  effect?: Fields;
  ends?: { low: Maybe; high: Maybe };
  ranks?: (Fields & { samples: { sample: string; meanRank: Maybe }[]; pairs: Rows }) | null;
  link?: (Fields & { pairs: Rows }) | null;
  repeatability?: Fields | null;
  positions?: { rows: Record<'position' | 'n' | 'mean' | 'deviation', Maybe>[] };
  spread?: Fields | null;
  checks?: Fields | null;
}
export interface WordOf extends Fields {
  word: string;
  family: string;
  checked?: Maybe;
  shares: (Fields & { sample: string; checked: number; asked: number; share: number | null })[];
  test?: Fields | null;
  pairs?: Rows;
}
export interface MapOf extends Fields {
  axes: { inertia: Maybe; share: Maybe }[];
  totalInertia: Maybe;
  samples: MapPoint[];
  words: MapPoint[];
}
export interface MapPoint {
  key: string;
  name: string;
  coordinates: number[];
  mass: Maybe;
  inertia: Maybe;
  quality: Maybe;
}
export interface PartOf {
  part: number;
  kind: string;
  settings: Fields & { alpha: number; armIds?: string[] };
  served: { seated: number; assessors: number; answers?: number; unanswered?: number };
  caveats?: { from: string; text: string }[];
  outcome?: { counted: string; other: string };
  test?: Fields & { counted: number; answers: number; most: number; p: number; side?: string; kind?: string };
  proportionCounted?: number | null;
  share?: { estimate: number; untruncated?: number } | null;
  votes?: { armId: string; votes: number }[];
  noPreference?: { answers: number; share?: Fields | null };
  orders?: { rows: { order: string; served: number }[] };
  similarity?: Fields | null;
  dPrime?: Fields | null;
  power?: Fields | null;
  posterior?: Fields | null;
  stronger?: { rows: { armId: string; answers: Maybe }[]; share: Fields | null } | null;
  confidence?: {
    rows: (Fields & { confidence: string; counted: Maybe; answers: Maybe })[];
    rIndex: Fields | null;
  };
  references?: { armId: string; answers: Maybe; counted: Maybe }[] | null;
  positions?: { rows: { place: string; chosen: Maybe; rightThere: Maybe }[]; p: Maybe };
  replicates?: (Fields & { perAssessor: Record<'answers' | 'counted' | 'assessors', number>[] }) | null;
  descriptors?: unknown;
  samples?: (Fields & {
    key: string;
    name: string;
    role: string;
    rankSum?: Maybe;
    control?: boolean;
  })[];
  words?: WordOf[];
  unchecked?: string[];
  late?: {
    seconds: number;
    answers?: { sample: string; answers: Maybe; none: Maybe }[];
    family?: Fields;
    unchecked?: string[];
    words: (WordOf & {
      beside: (({ sample: string } & Record<'both' | 'stayed' | 'came' | 'gone', number>) | null)[];
    })[];
  } | null;
  family?: Fields;
  profile?: Fields | null;
  map?: MapOf | null;
  duplicates?: Rows | string[];
  liking?: (Fields & { rows: (Fields & { word: string })[] }) | null;
  level?: number;
  ranked?: { leftOut: number; averaged: boolean; assessors: number };
  pairs?: (Fields & { rows: (Fields & { first: string; second: string })[] }) | null;
  sign?: Fields | null;
  agreement?: Fields | null;
  attributes?: (Marks & { name: string })[];
  figures?: Marks;
  verdict?: Fields | null;
  control?: string;
  warmUps?: string[];
  comparisons?: (Fields & { rows: (Fields & { sample: string })[] }) | null;
}
export interface RowOf extends Fields {
  part: number;
  person: string;
  sample: string | null;
  arm: string | null;
  role: string | null;
  question: string;
  value: string | number | null;
}
export interface SessionOf extends Fields {
  number: number;
  seated: number;
  assessors: number;
  keyReaders?: { accounts: number; invited: number };
  sites?: {
    places: number;
    compared:
      | {
          part: number;
          rows: { site: number; people: number; answers: number; counted: Maybe }[];
          tests: { by: string; p: number }[];
        }[]
      | null;
  };
  seal: { root: string; fingerprint: string; size: number; leaves: Leaf[]; answersSize?: number };
  samples: {
    sampleId: string;
    part: number;
    arm: string;
    name: string;
    role: string;
    control: string | null;
  }[];
  parts: PartOf[];
  orders: { part: number; order: string; served: number; counted: number | null }[];
  rows: RowOf[] | null;
}
export interface RecordOf {
  since: string;
  base: { label: string; value: string }[];
  making: { field: string; standing: string; values: (string | null)[] }[];
  findings: Record<'kind' | 'says' | 'matters' | 'source' | 'undoes' | 'answer', string | null>[];
  readings: {
    arm: string;
    day: number;
    pull: string;
    ph: number | null;
    gravity: number | null;
    temperatureC: number | null;
    notes: string;
  }[];
  read: { arm: string; readings: number; ph: number; gravity: number; temperatureC: number }[];
  tastings: { session: number; months: number }[];
  leftOut: string[];
}
export interface Document extends Fields {
  version: number;
  publishedOn: string;
  arms: { id: string; name: string; differs: string }[];
  sessions: SessionOf[];
  /** Left out by the host, or from before it was told. */
  record?: RecordOf;
}
export interface Tray {
  id: string;
  part: number;
  replicate: number;
  servings: { position: number; code: string; sampleId: string; mark: string | null }[];
}
export type Sealed = Fields & {
  kind: string;
  samples: string[];
  replicates?: number;
  warmUpTray?: boolean;
  cups?: string;
  words?: string[] | null;
  late?: { seconds: number; words?: string[] } | null;
};

/** Words as checked at first, and those of a late question under names of their own. */
export function wordsAndLate({
  words = [],
  late,
}: Pick<PartOf, 'words' | 'late'>): NonNullable<PartOf['words']> {
  const then = late?.words.map((one) => ({ ...one, word: `${one.word}, after ${late.seconds} s` })) ?? [];
  return [...words, ...then];
}

/** Canonical JSON (RFC 8785): keys by UTF-16 code units, no white space. */
export function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'nothing';
  const members = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1));
  return `{${members.map(([key, member]) => `${JSON.stringify(key)}:${canonical(member)}`).join(',')}}`;
}

export function equal(name: string, found: unknown, expected: unknown): Check {
  const [left, right] = [canonical(found), canonical(expected)];
  return { name, ok: left === right, found: left, expected: right };
}
