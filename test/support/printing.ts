import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { armId, flight } from '../analysis/common/flight-input.ts';
import {
  fixturePublication,
  fixtureSession,
  triangle,
  type FixtureEvening,
} from '../publication/package-fixture.ts';

// Publications as readers print them: one part of each kind, of the size an evening has, and five sessions of one trial.

const pair = { ...triangle, attribute: 'fruity' };
const FAMILIES = ['Esters', 'Phenols', 'Malt', 'Hops', 'Ageing', 'Sour'];
/** Invented words, so many that a sheet is full. */
const WORDS: [string, { word: string; family: string }][] = [
  ...FAMILIES.flatMap((family) =>
    ['faint', 'plain', 'bright', 'dark'].map((word): [string, { word: string; family: string }] => [
      `${word}-${family}`.toLowerCase(),
      { word: `${word} ${family.toLowerCase()}`, family },
    ]),
  ),
];
const SAMPLES = flight(3, [{ armId: armId(0), role: 'duplicate', spike: null }]);
const ATTRIBUTES = ['bitter', 'sweet', 'sour', 'fruity', 'full'].map((name) => ({
  id: name,
  name,
  low: 'not at all',
  high: 'very',
}));

/** A part of each kind, of the size an evening has, by name. */
export const KINDS_BY_NAME: Readonly<Record<string, Part>> = {
  triangle,
  'duo-trio': { ...triangle, kind: 'duo-trio', reference: 'balanced', replicates: 2 },
  'two-out-of-five': { ...triangle, kind: 'two-out-of-five' },
  tetrad: { ...triangle, kind: 'tetrad', aim: 'similarity' },
  'three-afc': { ...pair, kind: 'three-afc', strongerArmId: armId(1) },
  'directional-pair': { ...pair, kind: 'directional-pair', strongerArmId: null },
  preference: { kind: 'preference', armIds: [armId(0), armId(1)], alpha: 0.05, noPreference: true },
  'same-different': {
    kind: 'same-different',
    armIds: [armId(0), armId(1)],
    replicates: 2,
    alpha: 0.05,
    beta: 0.2,
    dPrime: 1.5,
  },
  rating: {
    kind: 'rating',
    ...SAMPLES,
    attributes: ATTRIBUTES,
    scale: 'line',
    by: 'sample',
    returning: false,
  },
  'nine-point': {
    kind: 'rating',
    ...SAMPLES,
    attributes: ATTRIBUTES,
    scale: 'nine-point',
    by: 'attribute',
    returning: true,
  },
  description: {
    kind: 'description',
    ...SAMPLES,
    words: WORDS.map(([id]) => id),
    intensity: true,
    late: { words: WORDS.slice(0, 4).map(([id]) => id), seconds: 60 },
  },
  ranking: { kind: 'ranking', ...flight(3), attribute: 'sour' },
  control: {
    kind: 'control',
    ...flight(3),
    samples: flight(3).samples.slice(1),
    controlArmId: armId(0),
    degrees: ['none', 'slight', 'clear', 'large', 'very large'],
  },
  liking: { kind: 'liking', ...flight(3), cupsEach: 2 },
};

const evening = (parts: Part[], people = 24): FixtureEvening => ({ parts, people, rows: true, words: WORDS });

/** One publication for each kind of part, by its name. */
export function onePartEach(people = 24, names = Object.keys(KINDS_BY_NAME)): [string, Publication][] {
  const chosen = Object.entries(KINDS_BY_NAME).filter(([name]) => names.includes(name));
  return chosen.map(([name, part], at) => [
    name,
    fixturePublication(at + 1, [fixtureSession(1, at + 1, evening([part], people))]),
  ]);
}

/** Five sessions of one trial, a test of difference each. */
export function fiveSessions(): Publication {
  return fixturePublication(
    60,
    [1, 2, 3, 4, 5].map((seed) => fixtureSession(1, 60 + seed, evening([triangle]))),
  );
}
