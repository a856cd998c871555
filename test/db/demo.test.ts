import {
  DEMO_ATTRIBUTES,
  DEMO_LIKING,
  DEMO_PROFILE,
  DEMO_WORDS,
  demoLiking,
  demoMark,
  demoWords,
} from '@oddglass/db/demo/profile.ts';
import { TURNED_SEAT } from '@oddglass/db/demo/truth.ts';
import { analyseAgreement } from '@oddglass/shared/analysis/agreement/agreement.ts';
import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { analyseLiking } from '@oddglass/shared/analysis/rating/liking.ts';
import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import type { DescriptionPart, LikingPart, RatingPart } from '@oddglass/shared/contracts/part.ts';
import { expect, test } from 'vitest';
import { armId, flight, flightInput, flightTray } from '../analysis/common/flight-input.ts';
import { noise } from '../analysis/rating/rating-input.ts';

// The demo is drawn from a stated truth (db/demo/truth.ts). Its figures have to be such as a panel like this one gives: seat by
// seat the same palates, in other orders each time a demo is made.

const ORDERS = 12;
const rating: RatingPart = {
  kind: 'rating',
  ...flight(3, [{ armId: armId(DEMO_PROFILE.duplicate), role: 'duplicate', spike: null }]),
  attributes: DEMO_ATTRIBUTES,
  scale: 'line',
  by: 'sample',
  returning: false,
};
const description: DescriptionPart = {
  ...rating,
  kind: 'description',
  words: [...DEMO_WORDS],
  intensity: false,
} as never;

function evening(seed: number, people: number, cups: number): { seat: number; order: number[] }[] {
  const { uniform } = noise(seed);
  return Array.from({ length: people }, (_who, at) => ({
    seat: at + 1,
    order: Array.from({ length: cups }, (_cup, place) => ({ place, at: uniform() }))
      .sort((a, b) => a.at - b.at)
      .map(({ place }) => place),
  }));
}
const armOf = (place: number): number => (place === 3 ? DEMO_PROFILE.duplicate : place);

const profiles = Array.from({ length: ORDERS }, (_evening, seed) => {
  const people = evening(seed + 1, DEMO_PROFILE.seats, 4);
  const rated = people.map(({ seat, order }) => {
    const tray = flightTray(
      rating,
      `a${seat}`,
      order,
      order.map((place, at) => ({
        kind: 'rating',
        marks: DEMO_ATTRIBUTES.map(({ id }, attribute) => ({
          code: String(101 + at),
          attributeId: id,
          value: demoMark(armOf(place), attribute, seat, at + 1),
        })),
      })),
    );
    return {
      ...tray,
      sheets: tray.sheets.map((sheet) => ({ ...sheet, attributeIds: DEMO_ATTRIBUTES.map(({ id }) => id) })),
    };
  });
  const described = people.map(({ seat, order }) =>
    flightTray(
      description,
      `a${seat}`,
      order,
      order.map((place, at) => demoWords(armOf(place), seat, at + 1)),
    ),
  );
  const input = flightInput(rating, rated);
  const words = new Map(DEMO_WORDS.map((id) => [id, { word: id, family: 'invented' }]));
  return {
    rated: analyseRating(input),
    agreement: analyseAgreement([input], () => true),
    described: analyseDescription({ ...flightInput(description, described), words }),
  };
});
const of = (id: string) => profiles.map(({ rated }) => rated.attributes.find((one) => one.id === id));
const median = (values: number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? NaN;

test('ripe fruit differs as such a panel would find it, and bitterness does not', () => {
  const fruit = of('fruit').map((one) => one?.test?.f ?? 0);
  expect(median(fruit)).toBeGreaterThan(5);
  expect(median(fruit)).toBeLessThan(15);
  expect(of('fruit').filter((one) => one?.shown).length).toBeGreaterThan(ORDERS / 2);
  for (const none of ['bitterness', 'body'])
    expect(of(none).filter((one) => one?.shown).length).toBeLessThanOrEqual(1);
  for (const attribute of ['fruit', 'green-apple', 'bitterness', 'body']) {
    // What is left of a mark beside beer and person: cup to cup, and what a person tastes apart.
    const left = median(
      of(attribute).map((one) => Math.hypot(one?.spread?.residual ?? 0, one?.spread?.interaction ?? 0)),
    );
    expect(left).toBeGreaterThan(10);
    expect(left).toBeLessThan(22);
  }
});

test('people agree as people do: one turns the scale, one marks wildly', () => {
  const w = profiles.map(
    ({ agreement }) =>
      agreement?.parts[0]?.measures.find(({ about }) => about === 'ripe fruit')?.concordance?.w ?? 0,
  );
  expect(median(w)).toBeGreaterThan(0.25);
  expect(Math.max(...w)).toBeLessThan(0.85);
  // The one who turns the scale goes against the others in most orders of serving.
  const turned = profiles.map(
    ({ agreement }) =>
      agreement?.parts[0]?.assessors
        .find(({ assessor }) => assessor === `a${TURNED_SEAT}`)
        ?.agreement.find(({ about }) => about === 'ripe fruit')?.correlation ?? 0,
  );
  expect(median(turned)).toBeLessThan(0);
});

test('many words are used, most of them seldom, and no word is everybody’s', () => {
  for (const { described } of profiles) {
    const used = described.words.length + described.ownWords.length;
    expect(used).toBeGreaterThanOrEqual(20);
    expect(described.ownWords.length).toBeGreaterThanOrEqual(5);
    const most = Math.max(
      ...described.words.flatMap(({ shares }) => shares.map(({ checked, asked }) => checked / asked)),
    );
    expect(most).toBeLessThan(0.95);
    const few = described.words.filter(({ checked }) => checked <= 3).length;
    expect(few).toBeGreaterThanOrEqual(described.words.length / 5);
  }
});

test('liking is asked of those who drink it, and does not settle what it cannot', () => {
  const part: LikingPart = { kind: 'liking', ...flight(3) };
  const shown = Array.from({ length: ORDERS }, (_evening, seed) =>
    analyseLiking(
      flightInput(
        part,
        evening(seed + 50, DEMO_LIKING.seats, 3).map(({ seat, order }) =>
          flightTray(
            part,
            `a${seat}`,
            order,
            order.map((place, at) => demoLiking(place, seat, at + 1)),
          ),
        ),
      ),
    ),
  );
  for (const { figures } of shown) {
    expect(figures.n).toBe(3 * DEMO_LIKING.seats);
    const means = figures.samples.map(({ mean }) => mean ?? 0);
    expect(Math.max(...means) - Math.min(...means)).toBeLessThan(1.6);
    expect(
      new Set(figures.samples.flatMap(({ counts }) => counts.filter(({ marks }) => marks > 0))).size,
    ).toBeGreaterThan(6);
  }
  expect(shown.filter(({ figures }) => figures.shown).length).toBeLessThanOrEqual(ORDERS / 2);
});
