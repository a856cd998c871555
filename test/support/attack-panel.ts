import type { AnsweredTray, SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { Answer, Confidence } from '@oddglass/shared/contracts/ballot.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { SampleFacts } from '@oddglass/shared/contracts/result-common.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { drawPlan, type PartDesign, type Plan } from '@oddglass/shared/design/plan-draw.ts';
import { randomInt, seededRandom, shuffled, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { buildSeal, type SealedSample } from '@oddglass/shared/design/seal.ts';
import type { Consent, PublishableSession } from '@oddglass/shared/publication/assemble-choices.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { seedOf } from '../design/chance.ts';
import { simulatedPanel, type Panel } from './percepts.ts';

/** An invented assessor: how they mark, what they like to say, how sharp they are. */
export interface Person {
  /** Seat, from 1: everybody has a usual one, and everybody knows it. */
  seat: number;
  /** Marks lie higher or lower than those of others, and wider apart or closer. */
  shift: number;
  width: number;
  /** A word hardly anybody else says, and how their comments begin. */
  word: string;
  phrase: string;
}

const COMMON = ['malty', 'fruity', 'bitter', 'sweet', 'sour', 'floral', 'dry', 'smooth'];

export function people(count: number, seed: number): Person[] {
  const panel = simulatedPanel(seed);
  return Array.from({ length: count }, (_, at) => ({
    seat: at + 1,
    shift: 9 * panel.normal(),
    width: 0.6 + 0.8 * panel.uniform(),
    word: `word-of-${at + 1}`,
    phrase: `Well, says number ${'abcdefghijklmnopqrstuvwxyz'[at] ?? at}:`,
  }));
}

export const labelOf = (seat: number): string => `a${seat}`;

const armId = (index: number): string => `00000000-0000-4000-8000-${String(index + 1).padStart(12, '0')}`;
export const ARMS = ['Cool', 'Warm', 'Wild', 'Dry'].map((name, index) => ({
  armId: armId(index),
  name,
  differs: 'invented',
}));

const difference = { armIds: [armId(0), armId(1)], replicates: 1, alpha: 0.05, aim: 'difference' as const };
export const TRIANGLE: Part = { kind: 'triangle', ...difference, meaningfulShare: 0.4, beta: 0.2 };
export const DUO_TRIO: Part = {
  kind: 'duo-trio',
  ...difference,
  meaningfulShare: 0.4,
  beta: 0.2,
  reference: 'balanced',
};
const flight = {
  cups: 'own' as const,
  samples: ARMS.map((arm) => ({ armId: arm.armId, role: 'sample' as const, spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
};
export const RATING: Part = {
  kind: 'rating',
  ...flight,
  attributes: ['fruity', 'bitter'].map((id) => ({ id, name: id, low: 'none', high: 'strong' })),
  scale: 'line',
  by: 'sample',
  returning: true,
};
/** In incomplete blocks: two of four cups each. */
export const DESCRIPTION: Part = {
  kind: 'description',
  ...flight,
  cupsEach: 2,
  words: null,
  intensity: false,
};
export const PARTS: Part[] = [TRIANGLE, RATING, DESCRIPTION];

export interface Tasting {
  plan: Plan;
  session: PublishableSession;
}

interface TastingOptions {
  persons: readonly Person[];
  parts: Part[];
  seed: number;
  /** Chance to know the odd cup before guessing. */
  knows: number;
  revealedAt?: string;
  title?: string;
}

const consenting: Consent = { rows: true, smallGroup: false };

/** A tasting from plan and seal to ballots; everybody answers everything. The same seed gives the same tasting. */
export function tasting({
  persons,
  parts,
  seed,
  knows,
  revealedAt,
  title = 'An invented tasting',
}: TastingOptions): Tasting {
  const panel = simulatedPanel(seed);
  const random = seededRandom(seedOf(seed));
  const settings: SessionSettings = {
    title,
    assessors: persons.length,
    spareSeats: 0,
    cupMl: 30,
    restSeconds: 60,
    masking: false,
    servingNote: '',
    parts,
  };
  const samples = parts.flatMap((part, index) => samplesOf(part, index + 1, random));
  const plan = drawPlan({
    seats: persons.length,
    parts: parts.map((part, at) => designOf(part, at + 1, samples)),
    seed: random.bytes(32),
  });
  const seal = buildSeal({
    settings: { assessors: persons.length, parts: parts.map(({ kind }) => kind) },
    samples: samples.map(({ key: _key, ...sample }) => sample),
    plan,
    random,
  });
  const keyOf = new Map(samples.map(({ id, key, armId: arm }) => [id, { key, arm }]));
  const trays = plan.seats.flatMap(({ number, trays: own }) => {
    const person = persons[number - 1] as Person;
    return own.map((tray): AnsweredTray => {
      const cups = tray.servings.map(({ code, position, mark, sampleId }) => {
        const { key = '', arm = '' } = keyOf.get(sampleId) ?? {};
        return { code, position, mark, sample: key, armId: arm };
      });
      const ballots = sheetsOfTray(parts, tray).map(({ part, sheet, codes }) => ({
        part,
        sheet,
        answer: answered(person, parts[part - 1] as Part, cups, codes, knows, panel, random),
        comment: sheet === 1 ? `${person.phrase} nice.` : '',
      }));
      return { assessor: labelOf(number), part: tray.part, replicate: tray.replicate, cups, ballots };
    });
  });
  const words = [...COMMON, ...persons.map(({ word }) => word)];
  const input: SessionInput = {
    session: {
      title,
      trialTitle: 'An invented trial',
      question: 'Does the temperature matter?',
      factor: 'temperature',
      demo: false,
      arms: ARMS.map(({ armId: id, name, differs }) => ({ id, name, differs })),
      blinding: 'double',
      smellOnly: false,
      stopped: false,
      fingerprint: seal.fingerprint,
      root: seal.root,
      revealedAt: revealedAt ?? '2031-03-04T20:00:00.000Z',
      assessors: persons.length,
      cupMl: 30,
      restSeconds: 60,
    },
    settings,
    samples: samples.map(({ key, armId: arm, armName, part }): SampleFacts & { part: number } => ({
      key,
      armId: arm,
      name: armName,
      role: 'sample',
      spike: null,
      control: false,
      part,
    })),
    trays,
    deviations: [],
    words: words.map((word) => [word, { word, family: 'invented' }]),
  };
  const consents = new Map(persons.map(({ seat }) => [labelOf(seat), consenting]));
  return { plan, session: { input, leaves: seal.leaves, consents, withdrawn: 0 } };
}

type KeyedSample = SealedSample & { key: string };

function samplesOf(part: Part, number: number, random: RandomSource): KeyedSample[] {
  const arms = 'armIds' in part ? ARMS.slice(0, 2) : ARMS;
  return arms.map((arm, at) => ({
    id: Array.from(random.bytes(8), (byte) => (byte % 36).toString(36)).join('') + `-${number}${at}`,
    armId: arm.armId,
    armName: arm.name,
    part: number,
    role: 'sample',
    spike: null,
    control: null,
    key: `s${at + 1}`,
  }));
}

function designOf(part: Part, number: number, samples: readonly KeyedSample[]): PartDesign {
  const own = samples.filter((sample) => sample.part === number);
  if (part.kind === 'triangle' || part.kind === 'duo-trio') {
    const [first, second] = own as [KeyedSample, KeyedSample];
    return { kind: part.kind, number, replicates: 1, sampleIds: [first.id, second.id] };
  }
  if (part.kind !== 'rating' && part.kind !== 'description') throw new Error(`no plan for ${part.kind}`);
  return {
    kind: part.kind,
    number,
    replicates: 1,
    cupsEach: part.cupsEach,
    samples: own.map(({ id, armId: arm }) => ({ id, role: 'sample', sameAs: arm })),
  };
}

const CONFIDENCES: Confidence[] = ['certain', 'fairly-sure', 'guess'];

function answered(
  person: Person,
  part: Part,
  cups: AnsweredTray['cups'],
  codes: readonly string[],
  knows: number,
  panel: Panel,
  random: RandomSource,
): Answer {
  const cup = (code: string | undefined) => cups.find((one) => one.code === code);
  const said = (): string[] => [
    ...COMMON.filter(() => panel.uniform() < 0.4),
    ...(panel.uniform() < 0.75 ? [person.word] : []),
  ];
  switch (part.kind) {
    case 'triangle':
    case 'duo-trio': {
      const marked = cups.find(({ mark }) => mark !== null)?.armId;
      const isRight = (code: string): boolean =>
        marked === undefined
          ? codes.filter((other) => cup(other)?.armId === cup(code)?.armId).length === 1
          : cup(code)?.armId === marked;
      const right = codes.find(isRight) ?? '';
      const guess = codes[randomInt(random, codes.length)] ?? '';
      return {
        kind: 'choice',
        chosen: [panel.uniform() < knows ? right : guess],
        confidence: CONFIDENCES[randomInt(random, 3)] ?? 'guess',
        descriptors: said().slice(-12),
      };
    }
    case 'rating':
      return {
        kind: 'rating',
        marks: codes.flatMap((code) =>
          part.attributes.map(({ id }, at) => {
            const place = ARMS.findIndex((arm) => arm.armId === cup(code)?.armId);
            const middle = 35 + 8 * place * (at === 0 ? 1 : -1) + 20 * at;
            const value = middle + person.shift + person.width * 12 * panel.normal();
            return { code, attributeId: id, value: Math.round(Math.min(100, Math.max(0, value)) * 10) / 10 };
          }),
        ),
      };
    case 'description': {
      const words = said();
      return {
        kind: 'description',
        words: words.map((id) => ({ id, intensity: null })),
        ownWords: [],
        none: words.length === 0,
      };
    }
    default:
      throw new Error(`nobody answers ${part.kind} here`);
  }
}

/** The same session after the people on these seats withdrew their answers. */
export function without(session: PublishableSession, seats: readonly number[]): PublishableSession {
  const gone = new Set(seats.map(labelOf));
  return {
    ...session,
    input: { ...session.input, trays: session.input.trays.filter(({ assessor }) => !gone.has(assessor)) },
    withdrawn: session.withdrawn + seats.length,
  };
}

export function someSeats(persons: readonly Person[], count: number, random: RandomSource): number[] {
  return shuffled(random, persons)
    .slice(0, count)
    .map(({ seat }) => seat);
}
