import type { ChoicePartKind } from '../kinds/kind.ts';

/** What somebody who perceives the cups so decides by the rule of the test. */
export interface Decision {
  /** Places of the cups named, from 0, among those asked about; none for 'the same' or 'no preference'. */
  cups: number[];
  /** By how much it was decided, in units of perceptual noise, from 0: near 0 it could have been otherwise. */
  margin: number;
}

export interface Perceived {
  /** What the cups asked about seem like, left to right. */
  cups: readonly number[];
  /** What a marked reference seems like; null where there is none. */
  reference: number | null;
  /** Apart by more than this two cups are said to differ (same-different). */
  criterion: number;
  /** Closer than this somebody says 'no preference', where that may be said; 0: never. */
  indifference: number;
}

/** The two-out-of-five test splits cups into two and three by least squares: all ten ways, in the order of places. */
const PAIRS_OF_FIVE: readonly (readonly number[])[] = [0, 1, 2, 3, 4].flatMap((at) =>
  [1, 2, 3, 4].filter((other) => other > at).map((other) => [at, other]),
);

/** The place with the least badness, the first of equal ones, and how much worse the second best is. */
function least(badness: readonly number[]): { best: number; margin: number } {
  if (badness.length < 2) throw new RangeError('there is nothing to choose between');
  let best = 0;
  let first = Infinity;
  let second = Infinity;
  for (let at = 0; at < badness.length; at += 1) {
    const bad = badness[at] ?? Infinity;
    if (bad < first) {
      second = first;
      first = bad;
      best = at;
    } else if (bad < second) second = bad;
  }
  return { best, margin: second - first };
}

const apart = (a: number, b: number): number => Math.abs(a - b);

/** Squares within the two cups named and within the others. */
function squaresWithin(cups: readonly number[], pair: readonly number[]): number {
  const [one = 0, other = 0] = pair;
  const sumIn = (cups[one] ?? 0) + (cups[other] ?? 0);
  let sumOut = -sumIn;
  let squares = 0;
  for (const cup of cups) {
    sumOut += cup;
    squares += cup * cup;
  }
  return squares - (sumIn * sumIn) / pair.length - (sumOut * sumOut) / (cups.length - pair.length);
}

/** The place of the largest percept. */
function strongest({ cups }: Perceived): Decision {
  const { best, margin } = least(cups.map((cup) => -cup));
  return { cups: [best], margin };
}

const DECISIONS: { readonly [K in ChoicePartKind]: (perceived: Perceived) => Decision } = {
  // The two nearest cups are taken for the pair, the third for the odd one.
  triangle: ({ cups }) => {
    const [a = 0, b = 0, c = 0] = cups;
    const { best, margin } = least([apart(b, c), apart(a, c), apart(a, b)]);
    return { cups: [best], margin };
  },
  // The cup nearer to the reference is taken for it.
  'duo-trio': ({ cups, reference }) => {
    const { best, margin } = least(cups.map((cup) => apart(cup, reference ?? 0)));
    return { cups: [best], margin };
  },
  // The two highest and the two lowest are taken for the pairs; the pair with the first cup is named.
  tetrad: ({ cups }) => {
    const order = [...cups.keys()].sort((a, b) => (cups[a] ?? 0) - (cups[b] ?? 0));
    const [low, high] = [order.slice(0, 2), order.slice(2)];
    const margin = (cups[high[0] ?? 0] ?? 0) - (cups[low[1] ?? 0] ?? 0);
    return { cups: (low.includes(0) ? low : high).sort((a, b) => a - b), margin };
  },
  'two-out-of-five': ({ cups }) => {
    const { best, margin } = least(PAIRS_OF_FIVE.map((pair) => squaresWithin(cups, pair)));
    return { cups: [...(PAIRS_OF_FIVE[best] ?? [])], margin };
  },
  'three-afc': strongest,
  'directional-pair': strongest,
  preference: (perceived) => {
    const decision = strongest(perceived);
    return decision.margin < perceived.indifference ? { cups: [], margin: decision.margin } : decision;
  },
  // Differencing: they are said to differ where they seem to lie further apart than the criterion.
  'same-different': ({ cups, criterion }) => {
    const gap = apart(cups[0] ?? 0, cups[1] ?? 0);
    return { cups: gap > criterion ? [0, 1] : [], margin: apart(gap, criterion) };
  },
};

/**
 * What is decided over a tray, as the rule of its test has it (Thurstonian rules: Ennis 1993, J. Sens. Stud. 8:353; tetrad
 * Ennis & Jesionka 2011; same-different by differencing, Macmillan & Creelman 2005; two-out-of-five by least squares).
 * Percepts are finite, in units of perceptual noise, as many as the test asks about. Of ties the first place is taken.
 * Errors: RangeError with fewer than two cups.
 * Example: `decide('triangle', { cups: [0.1, 2, 0.3], reference: null, criterion: 0, indifference: 0 }).cups[0]` is 1
 */
export function decide(kind: ChoicePartKind, perceived: Perceived): Decision {
  return DECISIONS[kind](perceived);
}
