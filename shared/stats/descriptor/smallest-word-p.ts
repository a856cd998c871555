import { answerCount, integerIn } from '../../ground/input.ts';

/**
 * Smallest p that one word of a description can have: all n people give it to the same half of the k samples, one of
 * C(k, half) equally likely choices each, the first person's free.
 * samples whole from 2 to 100, people whole from 0. Nobody: 1. Errors: StatsInputError. Source: by counting, as in Cochran 1950.
 * Example: `smallestWordP({ samples: 2, people: 12 })` is 0.00048828125
 */
export function smallestWordP({ samples, people }: { samples: number; people: number }): number {
  integerIn('samples', samples, 2, 100);
  answerCount('people', people);
  if (people === 0) return 1;
  let choices = 1;
  const half = Math.floor(samples / 2);
  for (let i = 1; i <= half; i += 1) choices = (choices * (samples - half + i)) / i;
  return choices ** (1 - people);
}
