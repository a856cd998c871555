import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import { holm } from '@oddglass/shared/stats/multiplicity.ts';
import { expect, test } from 'vitest';
import { flightInput } from '../common/flight-input.ts';
import { ratedTray, ratingPart } from './rating-input.ts';

/** A number from 0 to 1 that is always the same for the same two. */
function scatter(a: number, b: number): number {
  const wave = Math.sin(a * 12.9898 + b * 78.233) * 43758.5453;
  return wave - Math.floor(wave);
}

const holmOf = (p: readonly (number | null)[], planned: number) => holm({ p, planned }).adjusted;

test('the test that findings stand on is one family over all attributes, whatever the marks look like', () => {
  const part = ratingPart(4, ['sour', 'salty', 'bitter']);
  const arms = [0, 1, 2, 3];
  const trays = Array.from({ length: 12 }, (_, person) =>
    ratedTray(
      part,
      `a${person + 1}`,
      arms,
      arms.map((arm) => [
        // Differs a little.
        40 + arm * 2.6 + scatter(person, arm) * 20,
        // Mostly at the lower end, the fourth a trace higher for everybody.
        arm === 3 ? 2 + scatter(person, arm + 9) * 3 : person === arm * 4 ? 80 : 0,
        // Differs clearly.
        20 + arm * 12 + scatter(person, arm + 20) * 25,
      ]),
    ),
  );
  const { attributes } = analyseRating(flightInput(part, trays));
  expect(attributes.map(({ trust }) => trust)).toEqual(['means', 'ranks', 'means']);
  for (const answer of ['verdict', 'test', 'ranks'] as const) {
    const adjusted = holmOf(
      attributes.map((attribute) => attribute[answer]?.p ?? null),
      3,
    );
    expect(attributes.map((attribute) => attribute[answer]?.adjusted)).toEqual(adjusted);
  }
  expect(attributes.map(({ shown }) => shown)).toEqual(
    attributes.map(({ verdict }) => (verdict?.adjusted ?? 1) <= part.alpha),
  );
});

test('attributes whose marks are all alike stay in the family: one stray mark in each changes nothing', () => {
  const names = ['sour', 'salty', 'bitter', 'sweet', 'smoky'];
  const part = ratingPart(3, names);
  const arms = [0, 1, 2];
  const panel = (stray: boolean) =>
    analyseRating(
      flightInput(
        part,
        Array.from({ length: 10 }, (_, person) =>
          ratedTray(
            part,
            `a${person + 1}`,
            arms,
            arms.map((arm) => [
              40 + arm * 4 + scatter(person, arm) * 24,
              ...names.slice(1).map((_name, at) => (stray && person === at && arm === 1 ? 6 : 5)),
            ]),
          ),
        ),
      ),
    ).attributes[0];
  const [alike, strayed] = [panel(false), panel(true)];
  expect(alike?.verdict?.p).toBeGreaterThan(0.001);
  expect(alike?.verdict?.adjusted).toBeCloseTo(5 * (alike?.verdict?.p ?? 0), 12);
  expect(alike?.test?.adjusted).toBeCloseTo(Math.min(1, 5 * (alike?.test?.p ?? 0)), 12);
  expect(strayed?.verdict?.adjusted).toBe(alike?.verdict?.adjusted);
  expect(alike?.reading).toContain('adjusted for 5 attributes');
});
