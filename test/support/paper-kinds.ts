import type { FlightPart, Part } from '@oddglass/shared/contracts/part.ts';
import { trianglePart } from './factories.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';

// Every kind of part, as a tasting on paper asks it, of the size an evening has; each with the sheets of A4 that one person's
// ballot may take.

const WORDS = ['banana', 'clove', 'bread', 'honey', 'bitter', 'sour', 'sweet', 'caramel', 'floral', 'mousy'];
const names = ['bitterness', 'ripe fruit', 'sourness'];
const attributes = names.map((name) => ({
  id: name.replace(' ', '-'),
  name,
  low: 'none',
  high: 'very strong',
}));

/** @param trial with three arms */
export function paperKinds(trial: TrialView): Record<string, { parts: Part[]; sheets: number }> {
  const [first, second, third] = trial.arms.map(({ id }) => id) as [string, string, string];
  const pair = trianglePart(trial);
  const flight: Pick<FlightPart, 'cups' | 'samples' | 'replicates' | 'cupsEach' | 'alpha'> = {
    cups: 'own',
    samples: [first, second, third].map((armId) => ({ armId, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
  };
  const borrowed = { ...flight, cups: 'before' as const, samples: [] };
  const words = { kind: 'description', words: WORDS, intensity: true } as const;
  const one = (part: Part, sheets = 1): { parts: Part[]; sheets: number } => ({ parts: [part], sheets });
  return {
    triangle: one(pair),
    'triangle, two trays': one({ ...pair, replicates: 2 }),
    'duo-trio': one({ ...pair, kind: 'duo-trio', reference: 'balanced' }),
    tetrad: one({ ...pair, kind: 'tetrad' }),
    'two-out-of-five': one({ ...pair, kind: 'two-out-of-five' }),
    'three-afc': one({ ...pair, kind: 'three-afc', attribute: 'bitter', strongerArmId: first }),
    'directional-pair': one({ ...pair, kind: 'directional-pair', attribute: 'bitter', strongerArmId: null }),
    'same-different, two trays': one({
      kind: 'same-different',
      armIds: [first, second],
      alpha: 0.05,
      beta: 0.1,
      dPrime: 1.5,
      replicates: 2,
    }),
    preference: one({ kind: 'preference', armIds: [first, second], alpha: 0.05, noPreference: true }),
    'rating on lines': one({
      kind: 'rating',
      ...flight,
      attributes,
      scale: 'line',
      by: 'sample',
      returning: true,
    }),
    'rating on nine points': one(
      { kind: 'rating', ...flight, attributes, scale: 'nine-point', by: 'attribute', returning: false },
      2,
    ),
    description: one({ ...flight, ...words }),
    'description with a late question': one(
      { ...flight, ...words, intensity: false, late: { words: ['clove', 'mousy'], seconds: 60 } },
      2,
    ),
    'description in writing': one({ ...flight, ...words, words: null }),
    control: one({
      kind: 'control',
      ...flight,
      samples: flight.samples.slice(1),
      controlArmId: first,
      degrees: ['none', 'slight', 'moderate', 'large'],
    }),
    ranking: one({ kind: 'ranking', ...flight, attribute: 'sour' }),
    liking: one({ kind: 'liking', ...flight }),
    'a triangle, then words and an order of the same cups': {
      parts: [pair, { ...borrowed, ...words }, { kind: 'ranking', ...borrowed, attribute: 'sour' }],
      sheets: 2,
    },
  };
}
