import { finiteFrom, integerIn, properProbability } from '../ground/input.ts';
import { smallestFound } from './plan-flight.ts';

/** What a size asked for by `peopleForMarks` is found with, at least. */
export const MARKS_POWER = 0.8;

/**
 * A page does not stand on the t test that the formula is of, but on the permutation test of marks and ranks together. With two
 * samples ranks are signs, of which few people have few different counts, so that the test stays below its alpha by more or less
 * from one size of panel to the next; at most 15 points of power are lost so, more at a small alpha. Planned for more, and for no
 * fewer than twelve people, the promise is kept (test/analysis/story/next-marks.test.ts, `npm run calibrate`). Our own; no source.
 */
const PLANNED_POWER = { usual: 0.9, smallAlpha: 0.95 } as const;
const FEWEST = 12;

/**
 * The fewest people who find a difference of two arms with a chance of 80 % or more, if each marks both, `trays` times; null where
 * `most` are not enough.
 * @param size difference of the two means in units of the scale, 0 or more.
 * @param within standard deviation of a mark when one person tastes the same again, in the same units, 0 or more.
 * @param apart standard deviation of what people taste apart in the arms (person by sample), 0 or more.
 * @param alpha of the one planned test, two-sided, between 0 and 1; trays and most whole.
 * How high or low people mark falls out of a comparison within people. Errors: StatsInputError.
 * Source: as smallestFound; components of variance as in Cochran & Cox 1957, Experimental Designs, section 2.2 (from memory).
 * Example: `peopleForMarks({ size: 10, within: 10, apart: 0, trays: 1, alpha: 0.05, most: 200 })` is 24
 */
export function peopleForMarks({
  size,
  within,
  apart,
  trays,
  alpha,
  most,
}: {
  size: number;
  within: number;
  apart: number;
  trays: number;
  alpha: number;
  most: number;
}): number | null {
  finiteFrom('size', size, 0);
  finiteFrom('within', within, 0);
  finiteFrom('apart', apart, 0);
  properProbability('alpha', alpha);
  integerIn('trays', trays, 1, 100);
  integerIn('most', most, 1, 100_000);
  const scatter = scatterOfMarks({ within, apart, trays });
  const power = alpha < 0.05 ? PLANNED_POWER.smallAlpha : PLANNED_POWER.usual;
  const enough = (people: number): boolean => {
    const found = smallestFound(
      { samples: 2, flights: people, df: people - 1 },
      { alpha, control: false, power },
    );
    return found !== null && found * scatter <= size && size > 0;
  };
  if (most < FEWEST || !enough(most)) return null;
  let [low, high] = [FEWEST, most];
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (enough(middle)) high = middle;
    else low = middle + 1;
  }
  return high;
}

/**
 * Standard deviation of a person's mean mark of one arm over `trays`, apart from using the scale high or low, in units of the scale.
 * Example: `scatterOfMarks({ within: 4, apart: 3, trays: 1 })` is 5
 */
export function scatterOfMarks({
  within,
  apart,
  trays,
}: {
  within: number;
  apart: number;
  trays: number;
}): number {
  return Math.hypot(apart, within / Math.sqrt(trays));
}
