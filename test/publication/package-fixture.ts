import { analyseSession, type AnsweredTray, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { armMaking, baseMaking } from '@oddglass/shared/contracts/making.ts';
import { publication, type Publication } from '@oddglass/shared/contracts/publication.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { drawPlan } from '@oddglass/shared/design/plan-draw.ts';
import { randomUuid, seededRandom, shuffled } from '@oddglass/shared/ground/random.ts';
import { buildSeal } from '@oddglass/shared/design/seal.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import type { PublishableSession } from '@oddglass/shared/publication/assemble-choices.ts';
import { builtInWords } from '@oddglass/shared/publication/planned-besides.ts';
import type { RecordChoice } from '@oddglass/shared/publication/record.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { namedSamples } from '@oddglass/server/session-data/sample-names.ts';
import { designsOf, samplesOf, sealedSettings } from '@oddglass/server/features/session/samples.ts';
import { armId, flight } from '../analysis/common/flight-input.ts';
import { simulatedPanel, type Panel } from '../support/percepts.ts';

// A publication of sealed plans and simulated answers, with texts that are awkward in tables.

const NAMES = ['Cool "14 °C"', 'Warm, 22 °C', '=Wild'];
const DIFFERS = ['held at 14 °C', 'held at 22 °C', 'pitched with a wild culture\nfrom bark'];
const DEVIATION = { armId: armId(1), on: '2031-02-01', note: 'The lid stood open.' };
const WORDS: [string, { word: string; family: string }][] = [
  ['banana', { word: 'banana', family: 'Esters' }],
  ['clove', { word: 'clove', family: 'Phenols' }],
  ['stale', { word: 'stale', family: 'Ageing' }],
];

export const triangle: Extract<Part, { kind: 'triangle' }> = {
  kind: 'triangle',
  armIds: [armId(0), armId(1)],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const pair = { ...triangle, attribute: 'fruity' };
export const sameDifferent: Extract<Part, { kind: 'same-different' }> = {
  kind: 'same-different',
  armIds: [armId(0), armId(1)],
  replicates: 1,
  alpha: 0.05,
  beta: 0.2,
  dPrime: 1.5,
};

/** Sessions that touch every kind of part. */
export const PARTS: { parts: Part[]; people: number; rows: boolean }[] = [
  {
    parts: [
      triangle,
      {
        kind: 'description',
        ...flight(0),
        cups: 'before',
        words: ['banana', 'clove', 'stale'],
        intensity: false,
      },
      { kind: 'preference', armIds: [armId(0), armId(1)], alpha: 0.05, noPreference: true },
    ],
    people: 13,
    rows: true,
  },
  {
    parts: [
      {
        kind: 'description',
        ...flight(3),
        words: ['banana', 'clove', 'stale'],
        intensity: true,
        late: { words: ['clove', 'stale'], seconds: 60 },
      },
      { kind: 'ranking', ...flight(3), attribute: 'sour' },
      { ...pair, kind: 'three-afc', strongerArmId: armId(1) },
      { ...triangle, kind: 'tetrad', aim: 'similarity' },
    ],
    people: 12,
    rows: true,
  },
  {
    parts: [
      { ...triangle, kind: 'duo-trio', reference: 'balanced', replicates: 2 },
      { ...pair, kind: 'directional-pair', strongerArmId: null },
      { ...triangle, kind: 'two-out-of-five' },
      sameDifferent,
    ],
    people: 7,
    rows: false,
  },
  {
    parts: [
      {
        kind: 'rating',
        ...flight(3, [{ armId: armId(0), role: 'duplicate', spike: null }]),
        attributes: [{ id: 'bitter', name: 'bitter', low: 'not at all', high: 'very' }],
        scale: 'line',
        by: 'sample',
        returning: false,
      },
      {
        kind: 'control',
        ...flight(3),
        samples: flight(3).samples.slice(1),
        controlArmId: armId(0),
        degrees: ['none', 'slight', 'clear', 'large', 'very large'],
      },
      { kind: 'liking', ...flight(3), cupsEach: 2 },
    ],
    people: 12,
    rows: true,
  },
  {
    parts: [sameDifferent, { ...sameDifferent, replicates: 2 }, { ...sameDifferent, replicates: 4 }],
    people: 26,
    rows: true,
  },
];

/** What somebody with a palate of chance, drawn to the second arm, answers. */
function answerOf(part: Part, codes: readonly string[], arms: readonly string[], panel: Panel): Answer {
  const strength = (arm: string | undefined) => panel.normal() + (arm === armId(1) ? 1.5 : 0);
  const byStrength = codes
    .map((code, at) => ({ code, by: strength(arms[at]) }))
    .sort((a, b) => a.by - b.by)
    .map(({ code }) => code);
  const strongest = byStrength.slice(-1);
  const confidence = panel.uniform() < 0.5 ? 'guess' : 'certain';
  switch (part.kind) {
    case 'preference':
      return {
        kind: 'choice',
        chosen: panel.uniform() < 0.2 ? [] : strongest,
        confidence: null,
        descriptors: ['banana'],
      };
    case 'same-different': {
      const apart = Math.abs(strength(arms[0]) - strength(arms[1])) > 1.5;
      return { kind: 'choice', chosen: apart ? [...codes] : [], confidence, descriptors: ['clove'] };
    }
    case 'tetrad':
    case 'two-out-of-five':
      return { kind: 'choice', chosen: byStrength.slice(-2), confidence, descriptors: [] };
    case 'description': {
      const words = (part.words ?? []).filter(() => panel.uniform() < 0.3 + strength(arms[0]) / 8);
      return {
        kind: 'description',
        words: words.map((id) => ({ id, intensity: part.intensity ? 2 : null })),
        ownWords: [],
        none: words.length === 0,
      };
    }
    case 'ranking':
      return { kind: 'ranking', order: byStrength };
    case 'rating':
      return {
        kind: 'rating',
        marks: part.attributes.flatMap(({ id }) =>
          codes.map((code, at) => ({
            code,
            attributeId: id,
            value: Math.round(Math.min(100, Math.max(0, 50 + 12 * strength(arms[at])))),
          })),
        ),
      };
    case 'control':
      return { kind: 'control', degree: Math.min(4, Math.max(0, Math.round(1 + strength(arms[0])))) };
    case 'liking':
      return { kind: 'liking', value: Math.min(9, Math.max(1, Math.round(5 + strength(arms[0])))) };
    default:
      return { kind: 'choice', chosen: strongest, confidence, descriptors: ['clove'] };
  }
}

/** Everybody has clove by then, so that what stayed and what came are both of several people and may be told. */
function lateAnswer(panel: Panel): Answer {
  const words = ['clove', 'stale'].filter((word) => panel.uniform() < (word === 'clove' ? 1 : 0.4));
  return { kind: 'late', words, none: words.length === 0 };
}

function settingsOf(parts: Part[], people: number): SessionSettings {
  return {
    title: 'Pale beer, day 21',
    assessors: people,
    spareSeats: 2,
    cupMl: 30,
    restSeconds: 0,
    masking: false,
    servingNote: '',
    parts,
  };
}

/** What one session asks, of how many people, and whether all agree to rows. */
export type FixtureEvening = (typeof PARTS)[number] & {
  /** Words beside those of the fixture: id, word, family. */
  words?: typeof WORDS;
};

/** One revealed session: that of PARTS by its number, or another one. */
export function fixtureSession(
  number: number,
  seed: number,
  { parts, people, rows: open, words = WORDS }: FixtureEvening = PARTS[number - 1] as FixtureEvening,
): PublishableSession {
  const random = seededRandom(new Uint8Array(32).fill(seed).fill(number, 1));
  const panel = simulatedPanel(seed * 100 + number);
  const settings = settingsOf(parts, people);
  const arms = NAMES.map((name, at) => ({ id: armId(at), name, differs: DIFFERS[at] ?? '' }));
  const poured = { trialId: '', position: 1, volumeMl: 9000, abv: null, allergens: [] };
  const samples = samplesOf(
    settings,
    arms.map((arm) => ({ ...arm, ...poured })),
  ).map((sample) => ({
    ...sample,
    id: randomUuid(random),
  }));
  const plan = drawPlan({
    seats: people + settings.spareSeats,
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
  const trays = plan.seats.slice(0, people).flatMap((seat) =>
    seat.trays.map((tray): AnsweredTray => {
      const cups = tray.servings.map(({ code, position, mark, sampleId }) => {
        const { key = '', armId: arm = '' } = named.find(({ id }) => id === sampleId) ?? {};
        return { code, position, mark, sample: key, armId: arm };
      });
      const asked = sheetsOfTray(parts, { part: tray.part, servings: tray.servings });
      return {
        assessor: `a${seat.number}`,
        part: tray.part,
        replicate: tray.replicate,
        cups,
        ballots: asked
          .filter(() => panel.uniform() < 0.97)
          .map(({ part, sheet, codes, late }) => ({
            part,
            sheet,
            comment: '',
            answer: late
              ? lateAnswer(panel)
              : answerOf(
                  parts[part - 1] as Part,
                  codes,
                  codes.map((code) => cups.find((cup) => cup.code === code)?.armId ?? ''),
                  panel,
                ),
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
      arms,
      blinding: 'double',
      smellOnly: false,
      stopped: false,
      // Written down in one of them only: tables and verifier have to bear both.
      ...(number === 1 && { keyReaders: { accounts: 2, invited: 1 } }),
      fingerprint: seal.fingerprint,
      root: seal.root,
      revealedAt: '2031-03-04T20:00:00.000Z',
      assessors: people,
      cupMl: 30,
      restSeconds: 0,
    },
    settings,
    samples: named.map(({ id: _id, ...facts }) => facts),
    trays,
    deviations: [DEVIATION],
    words,
  };
  const everybody = trays.map(({ assessor }) => [assessor, { rows: open, smallGroup: false }] as const);
  const builtIn = builtInWords(seal.leaves);
  const offered = WORDS.map(
    ([id, { word, family }]) =>
      builtIn.find((one) => one.id === id) ?? {
        id,
        word,
        family,
        definition: 'Of our own: like an old cupboard.',
      },
  );
  return { input, leaves: seal.leaves, consents: new Map(everybody), withdrawn: 0, offered };
}

/** How the invented arms were made and read: texts that are awkward in tables, one nobody passed, a reading before pitching. */
export const RECORD: RecordChoice = {
  record: {
    base: '=Pale wort, "one" batch',
    making: baseMaking.parse({ recipe: 'Ada wrote\nthis, boiled', originalGravity: 1.0479, hopped: false }),
    pitchedAt: '2031-01-30T18:00:00.000Z',
    abv: new Map([[armId(0), 4.9]]),
    fairTest: {
      factorFields: ['temperatureC'],
      answers: [],
      arms: NAMES.map((name, at) => ({
        id: armId(at),
        name,
        making: armMaking.parse({
          vessel: ['glass', 'steel', '-glass'][at],
          culture: 'of Ada',
          temperatureC: [14, 22, 22][at],
          organisms: ['lactic-bacteria'],
          additions: at === 1 ? [{ what: 'oak', amount: '3 cubes', on: '2031-02-09' }] : [],
        }),
        signs: at === 2 ? [{ sign: 'film' as const, on: '2031-02-11' }] : [],
        readings: [],
      })),
    },
    readings: [-1, 0.5, 9, 21.25].flatMap((day, step) =>
      NAMES.map((_, at) => ({
        armId: armId(at),
        takenAt: new Date(Date.parse('2031-01-30T18:00:00.000Z') + day * 86_400_000).toISOString(),
        planned: step !== 2,
        ph: step === 2 ? null : 5.2 - step * 0.43 - at * 0.017,
        gravity: 1.0479 - step * 0.0117,
        temperatureC: at === 1 ? 22 : null,
        looks: step === 2 ? '@hazy, a\nskin' : '',
        smell: '',
        added: '',
        note: step === 3 ? 'Ada read it' : '',
      })),
    ),
  },
  passed: ['=Pale wort, "one" batch', 'glass', '-glass', '3 cubes oak', '@hazy, a\nskin'],
};

/** An invented publication of every session of PARTS; `seed` 0 to 255 decides everything. */
export function fixturePublication(
  seed = 1,
  sessions = PARTS.map((_, at) => fixtureSession(at + 1, seed)),
): Publication {
  const assembled = assemblePublication({
    sessions,
    choices: {
      title: 'Warm or cool: does it matter?',
      panel: 'The Invented Cellar',
      licence: 'CC-BY-4.0',
      // The third arm under another name than was sealed: its samples stay closed.
      arms: NAMES.map((name, at) => ({
        armId: armId(at),
        name: at === 2 ? '=Third' : name,
        differs: DIFFERS[at] ?? '',
      })),
      comments: [],
      answers: [{ ...DEVIATION, answer: 'For an hour.' }],
      record: RECORD,
      hostAgreesSmall: false,
      publishedOn: '2031-03-20',
      version: 1,
      earlier: null,
    },
    random: seededRandom(new Uint8Array(32).fill(seed)),
    analyse: analyseSession,
  });
  return publication.parse(assembled);
}
