import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import type { RatingResult } from '@oddglass/shared/contracts/result-rating.ts';
import { holm } from '@oddglass/shared/stats/multiplicity.ts';
import { expect, test } from 'vitest';
import { flightInput } from '../common/flight-input.ts';
import { ratedTray, ratingPart } from './rating-input.ts';

/** A number from 0 to 1 that is always the same for the same two. */
function scatter(a: number, b: number): number {
  const wave = Math.sin(a * 12.9898 + b * 78.233) * 43758.5453;
  return wave - Math.floor(wave);
}

/**
 * Raw and adjusted p of one method over all attributes; `trusted`: of the answer that the finding of each stands on. A
 * method without an answer has neither.
 */
function answersOf(attributes: RatingResult['attributes'], by: 'means' | 'ranks' | 'trusted') {
  return attributes.map(({ trust, test: means, ranks, link }) =>
    by === 'trusted' ? { means, ranks, link }[trust] : { means, ranks }[by],
  );
}

const holmOf = (answers: readonly ({ p: number } | null)[]) =>
  holm({ p: answers.map((answer) => answer?.p ?? null) }).adjusted;

test('answers that findings stand on are one family for Holm, whatever method each comes from', () => {
  const part = ratingPart(4, ['sour', 'salty', 'bitter']);
  const arms = [0, 1, 2, 3];
  const trays = Array.from({ length: 12 }, (_, person) =>
    ratedTray(
      part,
      `a${person + 1}`,
      arms,
      arms.map((arm) => [
        // Differs a little, on the means.
        40 + arm * 2 + scatter(person, arm) * 20,
        // Mostly at the lower end: the fourth a trace higher for everybody, which ranks show; the means are those of one
        // wild mark for each of the others, and show nothing.
        arm === 3 ? 2 + scatter(person, arm + 9) * 3 : person === arm * 4 ? 80 : 0,
        // Differs clearly, on the means.
        20 + arm * 12 + scatter(person, arm + 20) * 25,
      ]),
    ),
  );
  const { attributes } = analyseRating(flightInput(part, trays));
  expect(attributes.map(({ trust }) => trust)).toEqual(['means', 'ranks', 'means']);
  const trusted = answersOf(attributes, 'trusted');
  const together = holmOf(trusted);
  expect(trusted.map((answer) => answer?.adjusted)).toEqual(together);
  expect(attributes.map(({ shown }) => shown)).toEqual(together.map((p) => p! <= part.alpha));

  // Each method as a family of its own would give another p, and for 'sour' another finding.
  const [byMeans, byRanks] = (['means', 'ranks'] as const).map((by) => holmOf(answersOf(attributes, by)));
  const apart = attributes.map(({ trust }, at) => (trust === 'means' ? byMeans : byRanks)![at]!);
  expect(apart.map((p, at) => p !== together[at])).toEqual([true, false, false]);
  expect(apart[0]! <= part.alpha).not.toBe(together[0]! <= part.alpha);
  // Answers beside them are each adjusted in the family of their method.
  expect(attributes[1]!.test?.adjusted).toBe(byMeans![1]);
  expect(attributes[0]!.ranks?.adjusted).toBe(byRanks![0]);
});
