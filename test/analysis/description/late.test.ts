import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { levelOfGate, levelWords } from '@oddglass/shared/analysis/description/gates.ts';
import { lateReading } from '@oddglass/shared/analysis/description/late.ts';
import { descriptionResult, type DescriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import type { DescriptionPart } from '@oddglass/shared/contracts/part.ts';
import type { ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import { describe, expect, test } from 'vitest';
import { flightInput, flightTray } from '../common/flight-input.ts';
import { simulatedPanel } from '../../support/percepts.ts';
import { part, says, WORDS } from './description-input.ts';

const LATE = { words: ['smoky', 'sour'], seconds: 60 };

/** What one person says of each cup at first and late; null: no answer. */
type Cups = readonly { first: readonly string[] | null; late: readonly string[] | null }[];

function tray(asked: DescriptionPart, person: number, cups: Cups, order?: readonly number[]): ServedTray {
  const places = order ?? cups.map((_cup, place) => place);
  const served = flightTray(
    asked,
    `p${String(person).padStart(3, '0')}`,
    places,
    places.map((place) => {
      const first = cups[place]?.first;
      return first ? says(first) : null;
    }),
  );
  return {
    ...served,
    sheets: served.sheets.flatMap((sheet, at) => {
      const words = cups[places[at] ?? 0]?.late;
      const answer = words ? { kind: 'late' as const, words: [...words], none: words.length === 0 } : null;
      return [
        { ...sheet, sheet: 2 * at + 1 },
        { ...sheet, sheet: 2 * at + 2, answer },
      ];
    }),
  };
}

const asked = part(2, { late: LATE });
const read = (panel: readonly Cups[], of = asked): DescriptionResult =>
  analyseDescription(
    flightInput(
      of,
      panel.map((cups, person) => tray(of, person, cups)),
      { words: WORDS },
    ),
  );
const lateOf = (result: DescriptionResult) => {
  if (!result.late) throw new Error('it was asked late');
  return result.late;
};

describe('the levels of the gates of a part', () => {
  test('are those of Holm: 1/3, 1/2 and the whole of alpha, from the strongest on', () => {
    const level = (...others: (number | null)[]) => levelOfGate(others, 0.06);
    expect(level()).toBe(0.06);
    expect(level(null, null)).toBe(0.06);
    expect(level(null, 0.5)).toBe(0.03);
    expect(level(0.03)).toBe(0.06);
    expect(level(0.5, 0.5)).toBeCloseTo(0.02, 12);
    expect(level(0.02, 0.5)).toBeCloseTo(0.03, 12);
    expect(level(0.5, 0.02)).toBeCloseTo(0.03, 12);
    expect(level(0.02, 0.03)).toBeCloseTo(0.06, 12);
    // The second would hold at half, if the first held at a third.
    expect(level(0.025, 0.03)).toBeCloseTo(0.02, 12);
  });

  test('claim what a step-down over all of them claims, whatever their p', () => {
    const { uniform } = simulatedPanel(7);
    for (let draw = 0; draw < 2000; draw++) {
      const p = Array.from({ length: 1 + (draw % 4) }, () => uniform() ** 3);
      const sorted = p.toSorted((a, b) => a - b);
      const fails = sorted.findIndex((one, at) => one > 0.05 / (sorted.length - at));
      const held = new Set(sorted.slice(0, fails < 0 ? sorted.length : fails));
      p.forEach((one, at) => {
        const others = p.filter((_other, place) => place !== at);
        expect(one <= levelOfGate(others, 0.05)).toBe(held.has(one));
      });
    }
  });

  test('are said with their share of alpha', () => {
    expect(levelWords(0.05, 0.05)).toBe('alpha 0.05');
    expect(levelWords(0.025, 0.05)).toBe('alpha 0.025, half of 0.05');
    expect(levelWords(0.05 / 3, 0.05)).toBe('alpha 0.0167, a third of 0.05');
  });
});

describe('a late question', () => {
  // Twelve people: at first nothing tells the two apart; late all but two say 'smoky' of the second cup, and nobody of the first.
  const panel: Cups[] = Array.from({ length: 12 }, (_, person) => [
    { first: person % 2 ? ['honey'] : [], late: [] },
    { first: person % 2 ? ['honey', 'smoky'] : [], late: person < 10 ? ['smoky'] : [] },
  ]);
  const result = read(panel);

  test('is counted by sample, beside what the same people said of the cup at first', () => {
    const late = lateOf(result);
    expect(descriptionResult.parse(result)).toEqual(result);
    expect(late.answers.map(({ answers, none }) => [answers, none])).toEqual([
      [12, 12],
      [12, 2],
    ]);
    expect(late.words.map(({ word }) => word)).toEqual(['smoky']);
    expect(late.unchecked).toEqual(['sour']);
    const [smoky] = late.words;
    expect(smoky?.shares.map(({ checked, asked: people }) => [checked, people])).toEqual([
      [0, 12],
      [10, 12],
    ]);
    // Six had said it at first, five of whom still do; one no longer; five say it only now.
    expect(smoky?.beside).toEqual([
      { sample: 's1', both: 12, stayed: 0, came: 0, gone: 0 },
      { sample: 's2', both: 12, stayed: 5, came: 5, gone: 1 },
    ]);
    // Ten to the same side, none to the other, adjusted for the two words asked for then: McNemar, exact.
    expect(smoky?.test?.pAdjusted).toBeCloseTo(2 * 2 ** -9, 12);
    expect(late.family).toMatchObject({ tests: 2, assessors: 12, leftOut: 0, differ: 1 });
  });

  test('leaves what was said at first as it is without it, but for the level', () => {
    const { late: _late, ...plain } = asked;
    const alone = analyseDescription(
      flightInput(
        plain,
        panel.map((cups, person) => {
          const whole = tray(asked, person, cups);
          return { ...whole, sheets: whole.sheets.filter(({ sheet }) => sheet % 2 === 1) };
        }),
        { words: WORDS },
      ),
    );
    expect(alone.late).toBeNull();
    const [mine, other] = [alone, result].map(({ words, samples, profile, map }) => ({
      words: words.map(({ test, ...word }) => ({ ...word, test: test && { ...test, differs: null } })),
      samples,
      p: profile?.p,
      map,
    }));
    expect(other).toEqual(mine);
    // Late words hold at a third, so that the others have half: as without a late question.
    expect([alone.family.level, result.family.level]).toEqual([0.025, 0.025]);
  });

  test('says in headline and text what came of it, and how alpha is shared', () => {
    expect(result.finding.headline).toBe(
      'No word was shown to differ between the samples at first. After 60 s, smoky was checked more for Warm.',
    );
    expect(lateOf(result).reading).toMatch(
      /^After 60 s, without tasting again, smoky was checked more for Warm \(alpha 0\.0\d+, (half|a third) of 0\.05, adjusted over the 2 words asked for then\)\.$/,
    );
    expect(result.finding.lede).toContain(lateOf(result).reading);
    expect(result.caveats.map(({ text }) => text).join(' ')).toContain('The late question names its words');
    const adjustment = result.methods.find(({ id }) => id === 'adjustment');
    expect(adjustment?.explains).toContain(
      'the words of the late question share the alpha of the part (Holm)',
    );
    expect(result.methods.find(({ id }) => id === 'late')?.inputs).toContain('2 words, 12 people');
  });

  test('counts the first cup answered late, and pairs it with what was said of that very cup', () => {
    const twice = part(2, { late: LATE }, [
      { armId: asked.samples[1]!.armId, role: 'duplicate', spike: null },
    ]);
    const people: Cups[] = Array.from({ length: 3 }, () => [
      { first: [], late: [] },
      { first: ['smoky'], late: null },
      { first: [], late: ['smoky'] },
    ]);
    const late = lateOf(read(people, twice));
    expect(late.words[0]?.shares.map(({ checked }) => checked)).toEqual([0, 3]);
    expect(late.words[0]?.beside[1]).toEqual({ sample: 's2', both: 3, stayed: 0, came: 3, gone: 0 });
  });

  test('that nobody answers, or in which nothing is there, says so', () => {
    const nothing = read(panel.map((cups) => cups.map((cup) => ({ ...cup, late: [] }))));
    expect(lateOf(nothing).reading).toBe(
      'After 60 s, without tasting again, no word of the late question was there.',
    );
    // It stays a gate, which costs the others.
    expect(nothing.family.level).toBeCloseTo(0.05 / 3, 12);
    expect(nothing.finding.lede).toContain('at alpha 0.0167, a third of 0.05,');
    const none = read(panel.map((cups) => cups.map((cup) => ({ ...cup, late: null }))));
    expect(lateOf(none)).toMatchObject({ words: [], family: { assessors: 0 } });
    expect(none.family.level).toBe(0.025);
    expect(none.served.unanswered).toBe(24);
  });

  test('that finds what nobody said at first says so', () => {
    const silent = read(panel.map((cups) => cups.map((cup) => ({ ...cup, first: [] }))));
    expect(silent.finding.headline).toBe(
      'Twelve people answered; no word of the list was checked at first. After 60 s, smoky was checked more for Warm.',
    );
  });

  test('reads as not tested where too few answered for every sample', () => {
    const { samples } = result;
    const words = lateOf(result).words.map((word) => ({ ...word, test: null }));
    const family = { ...lateOf(result).family, reading: 'Too few.' };
    expect(lateReading({ words, family }, samples, { seconds: 60, alpha: 0.05 })).toBe(
      'After 60 s, without tasting again: Too few.',
    );
  });
});

test(
  'with three gates a part without any difference claims one in at most alpha of panels',
  { timeout: 120_000 },
  () => {
    const { uniform } = simulatedPanel(11);
    const of = part(3, { late: LATE });
    const PANELS = 400;
    let claims = 0;
    for (let number = 0; number < PANELS; number++) {
      const people = Array.from({ length: 10 }, (): Cups => {
        // People have habits with words, and a word said at first is more often there late.
        const habit = [uniform(), uniform(), uniform()];
        return [0, 1, 2].map(() => {
          const first = ['smoky', 'sour', 'honey'].filter((_word, at) => uniform() < (habit[at] ?? 0));
          const late = LATE.words.filter((word) => uniform() < (first.includes(word) ? 0.7 : 0.2));
          return { first, late };
        });
      });
      const { words, profile, late } = read(people, of);
      const differs = [...words, ...(late?.words ?? [])].some((word) => word.test?.differs);
      if (differs || profile?.shown) claims += 1;
    }
    // Alpha 0.05 and three errors of a share seen in so many panels; far from nothing, so that gates do open.
    expect(claims / PANELS).toBeLessThanOrEqual(0.05 + 3 * Math.sqrt((0.05 * 0.95) / PANELS));
    expect(claims).toBeGreaterThan(2);
  },
);
