import type { AnsweredTray, SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { FlightPart, Part, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { isChoice } from '@oddglass/shared/contracts/part-fit.ts';
import { sessionSettings, type SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { NotApartError } from '@oddglass/shared/design/flight.ts';
import { checkPartApart, drawPlan } from '@oddglass/shared/design/plan-draw.ts';
import { randomUuid, seededRandom, shuffled } from '@oddglass/shared/ground/random.ts';
import { buildSeal } from '@oddglass/shared/design/seal.ts';
import type { PublishableSession } from '@oddglass/shared/publication/assemble-choices.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { designsOf, samplesOf, sealedSettings } from '@oddglass/server/features/session/samples.ts';
import { namedSamples } from '@oddglass/server/session-data/sample-names.ts';
import { simulatedPanel, type Panel } from './percepts.ts';

// Sessions nobody would plan and everybody may get: any kind and mix of parts, one to thirty people, two to eight arms,
// and answers from random to all the same.

/** How people answer. */
const MOODS = [
  'random', // every mark anywhere
  'few steps', // ties everywhere
  'floor', // most at the lowest end
  'ceiling', // most at the highest end
  'all the same', // one mark for everything by everybody
  'unanimous', // samples differ, and all people say exactly the same
  'stubborn', // each person one mark of their own for every cup
  'two opposed', // one half turns the scale round
  'tiny steps', // differences of a tenth on a line of a hundred
] as const;
export type Mood = (typeof MOODS)[number];

const NAMES = ['Cool', 'Warm', 'Wild', 'Dry', 'Oak', 'Lees', 'Peel', 'Salt'];
const armId = (index: number): string => `00000000-0000-4000-8000-${String(index + 1).padStart(12, '0')}`;
const WORDS = ['banana', 'clove', 'stale', 'sour', 'bread', 'apple', 'hay', 'peach'];
export const KINDS: readonly Part['kind'][] = [
  'triangle',
  'duo-trio',
  'tetrad',
  'two-out-of-five',
  'three-afc',
  'directional-pair',
  'preference',
  'rating',
  'description',
  'control',
  'liking',
  'ranking',
  'same-different',
];

export interface WildSession {
  seed: number;
  kinds: Part['kind'][];
  mood: Mood;
  session: PublishableSession;
}

/** The same seed gives the same session; the first part goes through the kinds in turn. */
export function wildSession(seed: number, asksLate = false): WildSession {
  const panel = simulatedPanel(seed);
  const whole = (least: number, most: number): number =>
    least + Math.floor(panel.uniform() * (most - least + 1));
  const one = <T>(list: readonly T[]): T => list[whole(0, list.length - 1)] as T;
  const chance = (share: number): boolean => panel.uniform() < share;
  const random = seededRandom(Uint8Array.from({ length: 32 }, () => whole(0, 255)));

  // Small ones more often: there degrees of freedom run out, and more of them fit into an hour.
  const people = chance(0.1) ? 1 : chance(0.5) ? whole(2, 6) : whole(5, chance(0.3) ? 30 : 14);
  const arms = whole(2, chance(0.7) ? 4 : 8);
  const mood = one(MOODS);
  // One in four has trays that do not count.
  const parts = partsOf(KINDS[seed % KINDS.length] as Part['kind'], {
    whole,
    one,
    chance,
    arms,
    asksLate,
  }).map((part) => (isChoice(part) && seed % 4 === 1 ? { ...part, warmUpTray: true } : part));
  const settings: SessionSettings = sessionSettings.parse({
    title: 'A wild evening',
    assessors: chance(0.2) ? people + whole(1, 3) : people,
    spareSeats: 1,
    cupMl: 20,
    restSeconds: one([0, 60]),
    masking: chance(0.5),
    servingNote: '',
    parts,
  });
  const facts = Array.from({ length: arms }, (_, at) => ({
    id: armId(at),
    name: NAMES[at] ?? '',
    differs: 'in one thing',
  }));
  const poured = { trialId: '', position: 1, volumeMl: 9000, abv: null, allergens: [] };
  const samples = samplesOf(
    settings,
    facts.map((arm) => ({ ...arm, ...poured })),
  ).map((sample) => ({
    ...sample,
    id: randomUuid(random),
  }));
  const plan = drawPlan({
    seats: settings.assessors + settings.spareSeats,
    parts: designsOf(settings, samples),
    seed: random.bytes(32),
  });
  const seal = buildSeal({
    settings: sealedSettings(settings, samples, { version: 1, edition: 2 }),
    samples: shuffled(random, samples),
    plan,
    random,
  });
  const named = namedSamples(samples.map((sample) => ({ ...sample, arm: sample.armName })));
  const gaps = one([0, 0, 0.02, 0.2, 0.6]);
  const declined = one([0, 0, 0.05, 0.4]);
  const marks = marker(mood, panel);
  const trays = plan.seats.slice(0, people).flatMap((seat) =>
    seat.trays
      .filter(({ replicate }) => replicate > 0)
      .map((tray): AnsweredTray => {
        const cups = tray.servings.map(({ code, position, mark, sampleId }) => {
          const { key = '', armId: arm = '' } = named.find(({ id }) => id === sampleId) ?? {};
          return { code, position, mark, sample: key, armId: arm };
        });
        return {
          assessor: `a${seat.number}`,
          part: tray.part,
          replicate: tray.replicate,
          cups,
          ballots: sheetsOfTray(settings.parts, { part: tray.part, servings: tray.servings })
            .filter(() => !chance(gaps))
            .map(({ part, sheet, codes, attributeIds, late }) => ({
              part,
              sheet,
              comment: chance(0.05) ? 'Nice.' : '',
              answer: answerOf(settings.parts[part - 1] as Part, {
                codes,
                attributeIds,
                late: late === true,
                noneShare: declined,
                chance,
                one,
                mark: (code, attribute) =>
                  marks(seat.number, cups.find((cup) => cup.code === code)?.sample ?? '', attribute),
              }),
            })),
        };
      }),
  );
  const input: SessionInput = {
    session: {
      title: settings.title,
      trialTitle: 'An invented trial',
      question: 'Does it matter?',
      factor: 'temperature',
      demo: true,
      arms: facts,
      blinding: one(['double', 'single'] as const),
      smellOnly: false,
      stopped: false,
      fingerprint: seal.fingerprint,
      root: seal.root,
      revealedAt: '2031-03-04T20:00:00.000Z',
      assessors: settings.assessors,
      cupMl: 20,
      restSeconds: settings.restSeconds,
    },
    settings,
    samples: named.map(({ id: _id, ...known }) => known),
    trays,
    deviations: [],
    words: WORDS.map((word) => [word, { word, family: 'Invented' }]),
  };
  const rows = chance(0.7);
  return {
    seed,
    kinds: settings.parts.map(({ kind }) => kind),
    mood,
    session: {
      input,
      leaves: seal.leaves,
      consents: new Map(trays.map(({ assessor }) => [assessor, { rows, smallGroup: true }])),
      withdrawn: 0,
    },
  };
}

interface Draw {
  whole: (least: number, most: number) => number;
  one: <T>(list: readonly T[]) => T;
  chance: (share: number) => boolean;
  arms: number;
  /** Descriptions ask late; without it a seed draws what it always drew. */
  asksLate: boolean;
}

/** One to four parts that fit together; a mix that cannot be served is drawn again. */
function partsOf(first: Part['kind'], draw: Draw): Part[] {
  for (;;) {
    const parts = [partOf(first, draw, false)];
    while (parts.length < 4 && draw.chance(0.25)) {
      const kind = draw.one(KINDS);
      parts.push(partOf(kind, draw, draw.chance(0.5)));
    }
    const fits = sessionSettings.safeParse({
      title: 'A wild evening',
      assessors: 2,
      spareSeats: 0,
      cupMl: 20,
      restSeconds: 0,
      masking: false,
      servingNote: '',
      parts,
    });
    if (fits.success && canBeServed(fits.data)) return fits.data.parts;
  }
}

function canBeServed(settings: SessionSettings): boolean {
  const samples = samplesOf(settings, []).map((sample, at) => ({ ...sample, id: String(at) }));
  try {
    designsOf(settings, samples).forEach(checkPartApart);
    return true;
  } catch (reason) {
    if (reason instanceof NotApartError) return false;
    throw reason;
  }
}

function partOf(kind: Part['kind'], draw: Draw, borrows: boolean): Part {
  const { whole, one, chance, arms, asksLate } = draw;
  const armIds = chance(0.5) ? [armId(0), armId(1)] : [armId(1), armId(0)];
  const alpha = one([0.01, 0.05, 0.05, 0.2]);
  const difference = {
    armIds,
    alpha,
    replicates: one([1, 1, 2, 3, 4]),
    aim: one(['difference', 'difference', 'similarity'] as const),
    meaningfulShare: one([0.1, 0.3, 0.5, 0.9]),
    beta: one([0.05, 0.1]),
  };
  const attribute = 'sour';
  switch (kind) {
    case 'triangle':
    case 'tetrad':
    case 'two-out-of-five':
      return { kind, ...difference };
    case 'duo-trio':
      return { kind, ...difference, reference: one(['constant', 'balanced'] as const) };
    case 'three-afc':
      return { kind, ...difference, attribute, strongerArmId: armId(whole(0, 1)) };
    case 'directional-pair':
      return { kind, ...difference, attribute, strongerArmId: chance(0.5) ? armId(whole(0, 1)) : null };
    case 'preference':
      return { kind, armIds, alpha, noPreference: chance(0.5) };
    case 'same-different':
      return { kind, armIds, alpha, replicates: one([1, 1, 2, 4]), beta: 0.2, dPrime: one([1, 1.5, 2, 6]) };
    case 'rating': {
      const attributes = ['sour', 'fruity', 'bitter', 'body', 'length'].slice(0, one([1, 1, 2, 3, 5]));
      return {
        kind,
        ...flightOf(draw, borrows, alpha),
        attributes: attributes.map((id) => ({ id, name: id, low: 'none', high: 'strong' })),
        scale: one(['line', 'nine-point'] as const),
        by: one(['sample', 'attribute'] as const),
        returning: chance(0.5),
      };
    }
    case 'description': {
      const part = {
        kind,
        ...flightOf(draw, borrows, alpha),
        words: chance(0.5) ? null : WORDS.slice(0, whole(2, WORDS.length)),
        intensity: chance(0.5),
      };
      return asksLate
        ? { ...part, late: { words: (part.words ?? WORDS).slice(0, 3), seconds: one([30, 60]) } }
        : part;
    }
    case 'control': {
      const { samples, ...flight } = flightOf(draw, false, alpha);
      const controlArmId = armId(arms - 1);
      return {
        kind,
        ...flight,
        samples: samples.filter((sample) => sample.armId !== controlArmId),
        controlArmId,
        degrees: ['none', 'slight', 'clear', 'large', 'very large'].slice(0, whole(3, 5)),
      };
    }
    case 'liking':
      return { kind, ...flightOf(draw, borrows, alpha) };
    case 'ranking':
      return { kind, ...flightOf(draw, borrows, alpha), attribute };
  }
}

function flightOf({ whole, one, chance, arms }: Draw, borrows: boolean, alpha: number) {
  if (borrows) return { cups: 'before' as const, samples: [], replicates: 1, cupsEach: null, alpha };
  const plain: SampleInput[] = Array.from({ length: arms }, (_, at) => ({
    armId: armId(at),
    role: 'sample',
    spike: null,
  }));
  const further: SampleInput[] = [];
  if (chance(0.25)) further.push({ armId: armId(0), role: 'duplicate', spike: null });
  if (chance(0.2)) further.push({ armId: armId(1), role: 'spiked', spike: 'a little salt' });
  if (chance(0.2)) further.push({ armId: armId(0), role: 'warm-up', spike: null });
  const dealt = plain.length + further.filter(({ role }) => role !== 'warm-up').length;
  const flight: Pick<FlightPart, 'cups' | 'samples' | 'replicates' | 'cupsEach' | 'alpha'> = {
    cups: 'own',
    samples: [...plain, ...further],
    replicates: one([1, 1, 1, 2, 3]),
    cupsEach: dealt > 2 && chance(0.25) ? whole(2, dealt - 1) : null,
    alpha,
  };
  return flight;
}

type Marks = (seat: number, sample: string, attribute: string) => number;

/** A mark from 0 to 1 of one person for one sample and attribute, as the mood has it. */
function marker(mood: Mood, panel: Panel): Marks {
  const { uniform } = panel;
  const kept = new Map<string, number>();
  const once = (key: string): number => {
    const value = kept.get(key) ?? uniform();
    kept.set(key, value);
    return value;
  };
  switch (mood) {
    case 'random':
      return () => uniform();
    case 'few steps':
      return () => Math.round(uniform() * 2) / 2;
    case 'floor':
      return () => (uniform() < 0.8 ? 0 : uniform());
    case 'ceiling':
      return () => (uniform() < 0.8 ? 1 : uniform());
    case 'all the same':
      return () => once('');
    case 'unanimous':
      return (_seat, sample, attribute) => once(`${sample} ${attribute}`);
    case 'stubborn':
      return (seat) => once(`${seat}`);
    case 'two opposed':
      return (seat, sample, attribute) =>
        seat % 2 === 0 ? once(`${sample} ${attribute}`) : 1 - once(`${sample} ${attribute}`);
    case 'tiny steps':
      return (seat, sample) => 0.5 + Math.round(once(`${seat} ${sample}`) * 3) / 1000;
  }
}

interface Asked {
  codes: readonly string[];
  attributeIds: readonly string[];
  late: boolean;
  /** Share of marks declined. */
  noneShare: number;
  chance: (share: number) => boolean;
  one: <T>(list: readonly T[]) => T;
  mark: (code: string, attribute: string) => number;
}

function answerOf(part: Part, { codes, attributeIds, late, noneShare, chance, one, mark }: Asked): Answer {
  const code = codes[0] ?? '';
  const ordered = [...codes].sort((a, b) => mark(a, 'order') - mark(b, 'order') || (a < b ? -1 : 1));
  const choice = (cups: readonly string[]): Answer => ({
    kind: 'choice',
    chosen: [...cups],
    confidence: part.kind === 'preference' ? null : one(['certain', 'fairly-sure', 'guess'] as const),
    descriptors: WORDS.filter(() => chance(0.15)),
  });
  switch (part.kind) {
    case 'triangle':
    case 'duo-trio':
    case 'three-afc':
    case 'directional-pair':
      return choice(ordered.slice(-1));
    case 'tetrad':
    case 'two-out-of-five':
      return choice(ordered.slice(-2));
    case 'same-different':
      return choice(mark(codes[0] ?? '', 'pair') - mark(codes[1] ?? '', 'pair') > 0.1 ? codes : []);
    case 'preference':
      return choice(part.noPreference && chance(noneShare) ? [] : ordered.slice(-1));
    case 'rating':
      return {
        kind: 'rating',
        marks: codes.flatMap((cup) =>
          attributeIds.map((attributeId) => {
            const value = mark(cup, attributeId);
            const step = part.scale === 'line' ? Math.round(value * 1000) / 10 : 1 + Math.round(value * 8);
            return { code: cup, attributeId, value: chance(noneShare) ? null : step };
          }),
        ),
      };
    case 'description': {
      if (late) {
        const there = (part.late?.words ?? []).filter((word) => mark(code, `late ${word}`) > 0.6);
        return { kind: 'late', words: there, none: there.length === 0 };
      }
      const offered = part.words ?? WORDS;
      const words = offered.filter((word) => chance(noneShare / 4) || mark(code, word) > 0.6);
      return {
        kind: 'description',
        words: words.map((id) => ({ id, intensity: part.intensity ? one([1, 2, 3] as const) : null })),
        ownWords: [],
        none: words.length === 0,
      };
    }
    case 'control':
      return {
        kind: 'control',
        degree: chance(noneShare) ? null : Math.round(mark(code, '') * (part.degrees.length - 1)),
      };
    case 'liking':
      return { kind: 'liking', value: chance(noneShare) ? null : 1 + Math.round(mark(code, '') * 8) };
    case 'ranking':
      return { kind: 'ranking', order: ordered };
  }
}
