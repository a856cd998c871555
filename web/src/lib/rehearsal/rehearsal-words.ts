import type { PlayState, Simulation } from '@oddglass/shared/contracts/rehearsal.ts';
import { capital, inWords, listed, people } from '@oddglass/shared/ground/phrases.ts';
import { decimals, percent } from '#lib/text/numbers.ts';

// What a host chooses in words, and the numbers behind them. Sizes of d-prime by our own rule of thumb; common practice, no source.

export const DIFFERENCES = [
  { value: 'none', name: 'None: they taste the same', dPrime: 0 },
  { value: 'small', name: 'Small', dPrime: 0.8 },
  { value: 'medium', name: 'Medium', dPrime: 1.5 },
  { value: 'large', name: 'Large', dPrime: 3 },
  { value: 'own', name: 'A number', dPrime: null },
] as const;

export const CARES = [
  { value: 'careful', name: 'Careful', careless: 0 },
  { value: 'sometimes', name: 'One answer in ten at random', careless: 0.1 },
  { value: 'careless', name: 'Careless: every third at random', careless: 1 / 3 },
  { value: 'blind', name: 'Nobody tastes: all at random', careless: 1 },
] as const;

export const LEAVINGS = [
  { value: 'nobody', name: 'Nobody', share: 0 },
  { value: 'few', name: 'One in ten', share: 0.1 },
  { value: 'many', name: 'One in three', share: 1 / 3 },
] as const;

export const POSITIONS = [
  { value: 'none', name: 'No', bias: 0 },
  { value: 'first', name: 'The first cup seems stronger', bias: 0.7 },
  { value: 'last', name: 'The last cup seems stronger', bias: -0.7 },
] as const;

export const PACES = [
  { value: 'brisk', name: '30 people a minute', pace: 30 },
  { value: 'slow', name: '10 people a minute', pace: 10 },
  { value: 'at-once', name: 'All at once', pace: null },
] as const;

export const PLAY_WORDS: Readonly<Record<PlayState, string>> = {
  ready: 'Nobody has sat down yet.',
  playing: 'The simulated people are at it.',
  stopped: 'Stopped: whoever was in the middle of it has left.',
  interrupted:
    'Interrupted: the server was started anew while they played. Whoever was in the middle of it has left; the others can still sit down.',
  played: 'The simulated people have finished.',
};

/** What was put in, in one or two sentences. */
export function putInWords({
  people: count,
  dPrime,
  careless,
  leaving,
  positionBias,
  pace,
}: Simulation): string[] {
  const odd = [
    careless > 0 ? `${percent(careless)} of answers at random` : 'nobody answers at random',
    leaving.share > 0 ? `${percent(leaving.share)} leave before the end` : 'nobody leaves',
    positionBias === 0
      ? 'no cup is favoured for its place'
      : `the ${positionBias > 0 ? 'first' : 'last'} cup seems ${decimals(Math.abs(positionBias), 1)} stronger than it is`,
  ];
  return [
    `${capital(people(count))}; arms lie ${decimals(dPrime, 1)} apart (d′).`,
    `${capital(listed(odd))}.`,
    pace === null ? 'All come at once.' : `${capital(inWords(pace))} sit down in a minute.`,
  ];
}
