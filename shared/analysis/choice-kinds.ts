import type { DifferencePart } from '../contracts/part.ts';
import { GUESS_RATE } from '../stats/discrimination/guessing.ts';
import type { ThurstonianTest } from '../stats/discrimination/psychometric.ts';

/** What is particular to one difference test, in words and numbers. */
export interface ChoiceKind {
  /** The psychometric function and guessing rate that belong to it. */
  test: ThurstonianTest;
  guessRate: number;
  guessWords: string;
  name: string;
  source: string;
  /** Source of the psychometric function. */
  percepts: string;
  /** The rule an assessor is taken to follow. */
  rule: string;
}

/** Facts of each kind of test. Sources of the guessing rates: as GUESS_RATE. */
export const CHOICE_KINDS: Readonly<Record<DifferencePart['kind'], ChoiceKind>> = {
  triangle: {
    test: 'triangle',
    guessRate: GUESS_RATE.triangle,
    guessWords: '1/3',
    name: 'triangle test',
    source: 'ISO 4120 (triangle test)',
    percepts: 'Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the odd cup is the one farthest from the other two',
  },
  'duo-trio': {
    test: 'duo-trio',
    guessRate: GUESS_RATE['duo-trio'],
    guessWords: '1/2',
    name: 'duo-trio test',
    source: 'ISO 10399 (duo-trio test)',
    percepts: 'David & Trivedi 1962; Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the cup nearer to the reference is taken to be it',
  },
  tetrad: {
    test: 'tetrad',
    guessRate: GUESS_RATE.tetrad,
    guessWords: '1/3',
    name: 'tetrad test',
    source: 'exact binomial; guessing rate by counting the three ways to pair four cups',
    percepts: 'Ennis & Jesionka 2011 (tetrad)',
    rule: 'the two pairs are those in which cups lie nearest to each other',
  },
  'three-afc': {
    test: '3-AFC',
    guessRate: GUESS_RATE['3-AFC'],
    guessWords: '1/3',
    name: '3-AFC test',
    source: 'exact binomial; guessing rate by counting, one cup of three',
    percepts: 'Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the cup with the most of the attribute is chosen',
  },
  'directional-pair': {
    test: '2-AFC',
    guessRate: GUESS_RATE['2-AFC'],
    guessWords: '1/2',
    name: 'directional pair',
    source: 'ISO 5495 (paired comparison)',
    percepts: 'Ennis 1993, Journal of Sensory Studies 8:353',
    rule: 'the cup with more of the attribute is chosen',
  },
};
