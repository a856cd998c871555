import { analyseRating } from '@oddglass/shared/analysis/rating.ts';
import type { RatingResult } from '@oddglass/shared/contracts/result-rating.ts';
import { holm } from '@oddglass/shared/stats/multiplicity.ts';
import { expect, test } from 'vitest';
import { flightInput } from './flight-input.ts';
import { ratedTray, ratingPart } from './rating-input.ts';

/** A number from 0 to 1 that is always the same for the same two. */
function scatter(a: number, b: number): number {
  const wave = Math.sin(a * 12.9898 + b * 78.233) * 43758.5453;
  return wave - Math.floor(wave);
}

/** Raw and adjusted p of the answer that the finding of an attribute stands on. */
function trustedOf({ trust, test: means, ranks, link }: RatingResult['attributes'][number]) {
  return { means, ranks, link }[trust]!;
}

test('answers that findings stand on are one family for Holm, whatever method each comes from', () => {
  const part = ratingPart(4, ['sour', 'salty', 'bitter']);
  const trays = Array.from({ length: 12 }, (_, person) =>
    ratedTray(
      part,
      `a${person + 1}`,
      [0, 1, 2, 3],
      [0, 1, 2, 3].map((arm) => [
        // Differs a little, on the means; mostly at the lower end, so by ranks; differs clearly, on the means.
        40 + arm * 3 + scatter(person, arm) * 20,
        arm === 3 ? scatter(person, arm + 9) * 60 : 0,
        20 + arm * 12 + scatter(person, arm + 20) * 25,
      ]),
    ),
  );
  const { attributes } = analyseRating(flightInput(part, trays));
  expect(new Set(attributes.map(({ trust }) => trust)).size).toBeGreaterThan(1);
  const answers = attributes.map(trustedOf);
  const { adjusted } = holm({ p: answers.map(({ p }) => p) });
  expect(answers.map((answer) => answer.adjusted)).toEqual(adjusted);
  expect(attributes.map(({ shown }) => shown)).toEqual(adjusted.map((p) => p! <= part.alpha));
});
