import type { OverTime } from '../../contracts/story.ts';
import { pEquals } from '../../ground/phrases.ts';
import { holm } from '../../stats/multiplicity.ts';

/** Level of tests over time. Common practice, no source. */
export const STORY_ALPHA = 0.05;

/** A test over time before it is adjusted for the others. */
export type Unadjusted = Omit<OverTime, 'adjusted'>;

/** Holm over all tests over time that the story makes; those that could not be made stay null and are in no family. */
export function adjustedTogether(tests: readonly (Unadjusted | null)[]): {
  tests: (OverTime | null)[];
  many: number;
} {
  const { adjusted } = holm({ p: tests.map((test) => test?.p ?? null) });
  return {
    tests: tests.map((test, at) => test && { ...test, adjusted: adjusted[at] ?? 1 }),
    many: tests.filter((test) => test !== null).length,
  };
}

const METHODS: Record<OverTime['method'], string> = {
  exact: 'exact likelihood-ratio test of equal d-primes',
  'likelihood-ratio': 'likelihood-ratio test of equal d-primes',
  mixed: 'arm by session in a mixed model',
};

/** The test in brackets: what it is, its p, and that p adjusted for all tests over time. */
export function testWords({ method, p, adjusted }: OverTime, many: number): string {
  const beside = many > 1 ? `, adjusted for ${many} tests over time ${pEquals(adjusted)}` : '';
  return `${METHODS[method]}, ${pEquals(p)}${beside}; not planned beforehand`;
}

export const changes = (test: OverTime | null): boolean => test !== null && test.adjusted <= STORY_ALPHA;
