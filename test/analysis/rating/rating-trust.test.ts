import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import type { RatingResult } from '@oddglass/shared/contracts/result-rating.ts';
import { describe, expect, test } from 'vitest';
import { flightInput } from '../common/flight-input.ts';
import { once } from '../../support/once.ts';
import { noise, ratedTray, ratingPart } from './rating-input.ts';

// By which answer pairs are told is a rule of our own, said beside the figures: by ranks when a residual check has p of 0.01
// or less, or a quarter of the marks stand at one end of the scale; by means otherwise. Whether a difference is claimed
// stands on neither.

const PEOPLE = 12;
const ARMS = 3;

/** One attribute on a line, marked by twelve people who each had all three samples. */
function marked(mark: (person: number, arm: number) => number): RatingResult['attributes'][number] {
  const part = ratingPart(ARMS, ['sour']);
  const arms = Array.from({ length: ARMS }, (_, arm) => arm);
  const trays = Array.from({ length: PEOPLE }, (_, person) =>
    ratedTray(
      part,
      `p${person}`,
      arms,
      arms.map((arm) => [mark(person, arm)]),
    ),
  );
  return analyseRating(flightInput(part, trays)).attributes[0]!;
}

/** Sixty panels whose residuals are more or less far from normal, or whose third sample is marked more widely. */
function panels({
  tails,
  wide,
  apart = 0,
}: {
  tails: number;
  wide: number;
  apart?: number;
}): RatingResult['attributes'] {
  return Array.from({ length: 60 }, (_, at) => {
    const { normal } = noise(at + 1);
    return marked((_person, arm) => {
      const drawn = normal();
      const off = (arm === 2 ? wide : 1) * 6 * (drawn + tails * drawn ** 3);
      return Math.min(99, Math.max(1, 50 + apart * (arm - 1) + off));
    });
  });
}

describe.each([
  ['normalP', 'spreadP', { tails: 0.08, wide: 1 }, 'residuals do not look normal'],
  ['spreadP', 'normalP', { tails: 0, wide: 2.3 }, 'spread differs between samples'],
] as const)('the residual check %s', (check, other, far, why) => {
  const found = once(() =>
    panels({ ...far, apart: 25 })
      .map(({ checks, trust, trustReading, shown }) => ({
        p: checks![check]!,
        beside: checks![other]!,
        trust,
        trustReading,
        shown,
      }))
      // Panels of which the other check says nothing.
      .filter(({ beside }) => beside > 0.1),
  );

  test('leads away from the means at 0.01 or less, and only then', () => {
    for (const { p, trust, trustReading, shown } of found()) {
      expect([p, trust, shown]).toEqual([p, p <= 0.01 ? 'ranks' : 'means', true]);
      expect(trustReading.includes(`Pairs and letters are by ranks, since ${why}`)).toBe(p <= 0.01);
    }
  });

  test('was seen close to the bound on both sides', () => {
    expect(found().filter(({ p }) => p > 0.01 && p < 0.015).length).toBeGreaterThan(0);
    expect(found().filter(({ p }) => p <= 0.01 && p > 0.006).length).toBeGreaterThan(0);
  });
});

describe('marks at one end of the scale', () => {
  /** So many of the 36 marks at the end, the others spread over the middle. */
  const piled = (count: number, end: number) =>
    marked((person, arm) => {
      const place = person * ARMS + arm;
      // Places that are met in a mixed order, so that neither a person nor a sample has the end to itself.
      const order = (place * 23) % (PEOPLE * ARMS);
      if (order < count) return end;
      const inner = 2 + ((order - count) * 24) / (PEOPLE * ARMS - count);
      return end === 0 ? inner : 100 - inner;
    });

  test.each([
    ['lowest', 0, 'low'],
    ['highest', 100, 'high'],
  ] as const)(
    'a quarter of them at the %s leads away from the means, one mark less does not',
    (_n, end, at) => {
      const [less, quarter] = [piled(8, end), piled(9, end)];
      expect([less.ends[at], quarter.ends[at]]).toEqual([8 / 36, 9 / 36]);
      for (const { checks } of [less, quarter]) {
        // No other rule leads away from the means.
        expect(checks!.normalP).toBeGreaterThan(0.02);
        expect(checks!.spreadP).toBeGreaterThan(0.02);
      }
      expect([less.trust, quarter.trust]).toEqual(['means', 'ranks']);
      // Pairs are told, and why by ranks, only where a difference was shown.
      expect([quarter.shown, quarter.trustReading.includes('by ranks')]).toEqual([false, false]);
    },
  );
});
