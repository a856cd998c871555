import { analyseControl } from '@oddglass/shared/analysis/rating/control.ts';
import { analyseLiking } from '@oddglass/shared/analysis/rating/liking.ts';
import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import {
  controlResult,
  likingResult,
  ratingResult,
  type ControlResult,
  type LikingResult,
  type MarkFigures,
  type RatingResult,
} from '@oddglass/shared/contracts/result-rating.ts';
import { describe, expect, test } from 'vitest';
import { flight, flightInput, flightTray } from '../analysis/common/flight-input.ts';
import { controlInput, controlPart, noise, ratedTray, ratingPart } from '../analysis/rating/rating-input.ts';
import { bandOf } from '@oddglass/shared/ground/phrases.ts';
import { openMean, toStep } from '@oddglass/shared/publication/disclosure-flights.ts';
import { expectNear, NOT_SHOWN, tell, tellIfAny } from './telling.ts';

const PEOPLE = 12;
const persons = Array.from({ length: PEOPLE }, (_, person) => person);

function rated(): RatingResult {
  const { normal } = noise(7);
  const part = ratingPart(3, ['sour', 'sweet']);
  const trays = persons.map((person) =>
    ratedTray(
      part,
      `p${person}`,
      [0, 1, 2],
      [0, 1, 2].map((place) => [30 + 20 * place + 6 * normal(), 50 + 6 * normal()]),
    ),
  );
  return { ...analyseRating(flightInput(part, trays)), comments: ['Said by one.'] };
}

function liked(): LikingResult {
  const { normal } = noise(8);
  const part = { kind: 'liking' as const, ...flight(3) };
  const trays = persons.map((person) =>
    flightTray(
      part,
      `p${person}`,
      [0, 1, 2],
      [0, 1, 2].map((place) => ({
        kind: 'liking',
        value: Math.min(9, Math.max(1, Math.round(3 + 1.5 * place + normal()))),
      })),
    ),
  );
  return { ...analyseLiking(flightInput(part, trays)), comments: ['Said by one.'] };
}

function compared(): ControlResult {
  const { normal } = noise(9);
  const degree = (mean: number): number => Math.min(5, Math.max(0, Math.round(mean + 0.7 * normal())));
  const rows = persons.map(() => [degree(1), degree(1), degree(3)]);
  return { ...analyseControl(controlInput(controlPart(2), rows)), comments: ['Said by one.'] };
}

const rating = rated();
const liking = liked();
const control = compared();

type MarksResult = RatingResult | LikingResult | ControlResult;
const figuresOf = (part: MarksResult): MarkFigures[] =>
  part.kind === 'rating' ? part.attributes : [part.figures];
/** The part with the figures of every attribute changed. */
function changed<P extends MarksResult>(part: P, change: (figures: MarkFigures) => object): P {
  if (part.kind !== 'rating') return { ...part, figures: { ...part.figures, ...change(part.figures) } };
  const attributes = part.attributes.map((own) => ({ ...own, ...change(own) }));
  return { ...part, attributes };
}

/** What is left of figures of a small panel, their rounded numbers taken from what was told. */
function expectCoarse(told: MarkFigures | undefined, exact: MarkFigures | undefined, step: number): void {
  if (!told || !exact) throw new Error('there are figures');
  expect(told).toEqual({
    ...exact,
    samples: exact.samples.map((sample, at) => ({
      ...sample,
      mean: told.samples[at]?.mean,
      estimated: sample.estimated && { ...told.samples[at]?.estimated, df: sample.estimated.df },
      counts: [],
    })),
    verdict: exact.verdict && {
      ...exact.verdict,
      marks: told.verdict?.marks,
      ranks: told.verdict?.ranks,
      p: bandOf(exact.verdict.p),
      permutations: null,
      adjusted: bandOf(exact.verdict.adjusted),
    },
    test: null,
    pairs: [],
    spread: null,
    effect: { partialEpsilonSquared: null, marginalR2: null },
    checks: null,
    cautions: [],
    ends: told.ends,
    ranks: exact.ranks && {
      ...exact.ranks,
      chiSquare: null,
      p: bandOf(exact.ranks.p),
      adjusted: bandOf(exact.ranks.adjusted),
      samples: exact.ranks.samples.map((sample, at) => ({
        ...sample,
        meanRank: told.ranks?.samples[at]?.meanRank,
      })),
      pairs: [],
    },
    link: null,
    repeatability: null,
    positions: { rows: [], reading: NOT_SHOWN },
    trustReading: '',
    reading: told.reading,
  });
  exact.samples.forEach(({ mean, estimated }, at) => {
    const near = told.samples[at];
    expectNear(near?.mean, mean, step);
    for (const name of ['mean', 'lower', 'upper', 'standardError'] as const) {
      expectNear(near?.estimated?.[name] ?? null, estimated?.[name] ?? null, step);
    }
  });
  expectNear(told.verdict?.marks, exact.verdict?.marks, 0.1);
  expectNear(told.verdict?.ranks, exact.verdict?.ranks, 0.1);
  exact.ranks?.samples.forEach(({ meanRank }, at) => {
    expectNear(told.ranks?.samples[at]?.meanRank, meanRank, 0.5);
  });
  expectNear(told.ends.low, exact.ends.low, 0.1);
  expectNear(told.ends.high, exact.ends.high, 0.1);
}

describe.each<[string, MarksResult, number]>([
  ['rating', rating, 5],
  ['liking', liking, 0.5],
  ['difference from control', control, 0.5],
])('a %s', (_, whole, step) => {
  test('has here what the rules speak of', () => {
    for (const figures of figuresOf(whole)) {
      expect(figures.samples.length).toBe(3);
      expect(figures.positions.rows.length).toBe(3);
      expect(figures.pairs.length).toBe(3);
      expect([figures.test, figures.spread, figures.checks, figures.ranks]).not.toContain(null);
    }
    expect(figuresOf(whole)[0]?.shown).toBe(true);
  });

  test('of many people is told to the last figure; comments are not', () => {
    const { part, orders, withheld } = tell(whole, { rows: true });
    expect(part).toEqual({ ...whole, comments: [] });
    expect(orders).toEqual([]);
    expect(withheld).toEqual({ cells: 0, words: 0, lines: 0, parts: 0 });
    expect(tell(whole, { rows: true, without: ['freeTextOff'] }).part).toEqual(whole);
  });

  test.each(['coarse', 'agreed'] as const)(
    'of a small panel (%s) is told to a step, without tables',
    (tier) => {
      // Cautions and the rest are no more than a table: they must go, so let there be some.
      const given = changed(whole, () => ({
        cautions: ['Marks pile up.'],
        repeatability: { standardDeviation: 3.21, df: 12 },
        link: { chiSquare: 4.5, df: 2, p: 0.1, adjusted: 0.1, pairs: [] },
      }));
      const { part, withheld } = tell(given, { tier });
      const told = figuresOf(part);
      figuresOf(given).forEach((exact, at) => expectCoarse(told[at], exact, step));
      expect(told.length).toBe(figuresOf(given).length);
      const counts = figuresOf(given).flatMap(({ samples }) => samples.flatMap((sample) => sample.counts));
      const compared = given.kind === 'control' ? (given.comparisons?.rows.length ?? 0) : 0;
      expect(withheld.cells).toBe(3 * told.length + counts.length + compared);
      expect(part.comments).toEqual([]);
      expect(tell(given, { tier, without: ['freeTextOff'] }).part.comments).toEqual(whole.comments);
      expect(tell(given, { tier, rows: true, without: ['panelTiers'] }).part).toEqual({
        ...given,
        comments: [],
      });
    },
  );

  test('of a small panel is told in words without the exact means, and the notes name no figure', () => {
    const { part } = tell(whole, { tier: 'coarse' });
    const text = JSON.stringify([part.finding, part.methods, figuresOf(part).map(({ reading }) => reading)]);
    for (const mean of figuresOf(whole).flatMap(({ samples }) => samples.map((sample) => sample.mean ?? 0))) {
      expect(text).not.toContain(mean.toFixed(1));
      expect(text).not.toContain(mean.toFixed(2));
    }
    // Those of F, pairs, spread and checks explain what is not told; the whole document has them.
    const withheld = ['test', 'pairs', 'effect', 'checks', 'link', 'repeatability'];
    expect(whole.methods.map(({ id }) => id)).toEqual(
      expect.arrayContaining(['test', 'pairs', 'effect', 'checks']),
    );
    expect(part.methods).toEqual(
      whole.methods
        .filter(({ id }) => !withheld.includes(id))
        .map((note) => ({ ...note, inputs: 'marks of twelve people' })),
    );
    const readings = figuresOf(part).map(({ reading }) => reading);
    expect(part.finding.lede).toBe(
      `Twelve people gave marks. ${readings.join(' ')} Not shown does not mean alike.`,
    );
  });

  test('a sample without marks or a mean rank stays without them, and out of the sentence', () => {
    const empty = changed(whole, ({ samples, ranks, test: _test, ...own }) => ({
      ...own,
      samples: samples.map((one, at) => (at === 1 ? { ...one, mean: null, estimated: null } : one)),
      test: null,
      ranks: ranks && {
        ...ranks,
        samples: ranks.samples.map((one, at) => (at === 0 ? { ...one, meanRank: null } : one)),
      },
    }));
    const { part } = tell(empty, { tier: 'coarse' });
    figuresOf(empty).forEach((exact, at) => expectCoarse(figuresOf(part)[at], exact, step));
    const named = whole.samples.map(({ name }) => name);
    for (const { reading, samples } of figuresOf(part)) {
      expect(reading).toMatch(
        new RegExp(
          `Means to the nearest ${step}, or coarser where that would tell too much: ${escaped(named[0])} [\\d.]+ and ${escaped(named[2])} [\\d.]+\\.$`,
        ),
      );
      expect(reading).toContain(`${named[0]} ${samples[0]?.mean}`);
      expect(reading).toContain(`${named[2]} ${samples[2]?.mean}`);
    }
    const unranked = tell(
      changed(whole, () => ({ ranks: null })),
      { tier: 'coarse' },
    ).part;
    expect(figuresOf(unranked).map(({ ranks }) => ranks)).toEqual(figuresOf(whole).map(() => null));
  });

  test.each([
    [5, true],
    [4, false],
  ])('of a place at which %i people had their cup: places are told is %s', (n, shown) => {
    const given = changed(whole, ({ positions }) => ({
      positions: { ...positions, rows: positions.rows.map((row, at) => (at === 1 ? { ...row, n } : row)) },
    }));
    const { part, withheld } = tell(given, { rows: true });
    figuresOf(part).forEach((told, at) => {
      expect(told).toEqual({
        ...figuresOf(given)[at],
        ...(shown ? {} : { positions: { rows: [], reading: NOT_SHOWN } }),
      });
    });
    expect(withheld.cells).toBe(shown ? 0 : 3 * figuresOf(whole).length);
    expect(tell(given, { rows: true, without: ['smallGroups'] }).part).toEqual({ ...given, comments: [] });
  });

  test.each([
    [5, 'full', true],
    [4, 'full', false],
    [5, 'coarse', true],
    [4, 'coarse', false],
    // Everybody of an agreed panel said yes to just that.
    [4, 'agreed', true],
    [1, 'agreed', true],
  ] as const)('a sample marked by %i people in a panel that is %s: told is %s', (assessors, tier, told) => {
    const given = changed(whole, ({ samples }) => ({
      samples: samples.map((sample, at) => (at === 2 ? { ...sample, assessors } : sample)),
    }));
    const { part, withheld } = tellIfAny(given, { tier });
    const open = tellIfAny(given, { tier, without: ['smallGroups'] }).part;
    expect(open && figuresOf(open).length).toBe(figuresOf(whole).length);
    if (told) {
      expect(part && figuresOf(part).length).toBe(figuresOf(whole).length);
      expect(withheld.parts).toBe(0);
    } else if (whole.kind === 'rating') {
      // A part stands with the attributes that are left, here none.
      expect(part && figuresOf(part)).toEqual([]);
      expect(withheld).toMatchObject({ parts: 0, cells: 3 * figuresOf(whole).length });
    } else {
      expect(part).toBeNull();
      expect(withheld.parts).toBe(1);
    }
  });
});

function escaped(name = ''): string {
  return name.replace(/[()]/g, '\\$&');
}

test('marks by value are withheld where one or two stand behind one, unless rows tell them', () => {
  const counts = liking.figures.samples.flatMap((sample) => sample.counts);
  expect(counts.some(({ marks }) => marks > 0 && marks < 3)).toBe(true);
  const { part, withheld } = tell(liking);
  expect(part.figures.samples).toEqual(liking.figures.samples.map((sample) => ({ ...sample, counts: [] })));
  expectNear(part.figures.ends.high, liking.figures.ends.high, 0.1);
  expect(withheld.cells).toBe(counts.length);
  const many = changed(liking, ({ samples }) => ({
    samples: samples.map((sample) => ({
      ...sample,
      counts: sample.counts.map((row) => ({ ...row, marks: row.marks === 0 ? 0 : row.marks + 2 })),
    })),
  }));
  expect(tell(many).part.figures).toEqual(many.figures);
});

describe('what each kind says of a small panel', () => {
  test('a rating names the attributes in which a difference was shown', () => {
    const { part } = tell(rating, { tier: 'coarse' });
    expect(part.finding.headline).toBe('A difference was shown in sour.');
    expect(part.attributes.map(({ reading }) => reading.split(' Means')[0])).toEqual([
      'Sour: a difference was shown (p at most 0.001).',
      'Sweet: no difference was shown (p above 0.5).',
    ]);
    expect(ratingResult.parse(part)).toEqual(part);
    const none = tell(
      changed(rating, () => ({ shown: false })),
      { tier: 'coarse' },
    ).part;
    expect(none.finding.headline).toBe('No difference between the samples was shown.');
    const both = tell(
      changed(rating, () => ({ shown: true })),
      { tier: 'coarse' },
    ).part;
    expect(both.finding.headline).toBe('A difference was shown in sour and sweet.');
  });

  test('liking and degrees are named by their kind', () => {
    const told = tell(liking, { tier: 'coarse' }).part;
    expect(told.finding.headline).toBe('A difference was shown in liking.');
    expect(told.figures.reading).toMatch(
      /^Liking: a difference was shown \(p at most 0\.\d+\)\. Means to the nearest 0\.5, or coarser where that would tell too much: Cool /,
    );
    expect(likingResult.parse(told)).toEqual(told);
    const degrees = tell(control, { tier: 'coarse' }).part;
    expect(degrees.finding.headline).toBe('A difference was shown in degree of difference.');
    expect(degrees.figures.reading).toMatch(/^Degree of difference: a difference was shown \(p at most /);
    expect(controlResult.parse(degrees)).toEqual(degrees);
    const none = tell(
      changed(liking, () => ({ shown: false })),
      { tier: 'agreed' },
    ).part;
    expect(none.finding.headline).toBe('No difference between the samples was shown.');
  });

  test('a rating in few steps is told to half a step, one on a line to a twentieth of it', () => {
    const steps = {
      ...rating,
      settings: { ...rating.settings, scale: 'nine-point' as const },
      attributes: rating.attributes.map((own) => ({ ...own, ...liking.figures })),
    };
    const [fine] = tell(steps, { tier: 'coarse' }).part.attributes;
    expectCoarse(fine, steps.attributes[0], 0.5);
    expect(fine?.reading).toContain('to the nearest 0.5');
    expect(fine?.samples.some(({ mean }) => (mean ?? 0) % 5 !== 0)).toBe(true);
  });

  // Whole marks of five people: means of 6.4 and 6.6 alone would round to 6.5, so that one of two sums was it.
  test.each([
    [6.4, 5, 7],
    [6.4, 6, 6.5],
    [9, 6, 8.5],
    [8.9, 40, 9],
    [1, 5, 1.5],
  ])('a mean of %d of %i people is told as %d, which three sums or more round to', (mean, people, told) => {
    const given = openMean(mean, people, [1, 9], 0.5);
    expect(given).toBe(told);
    const sums = Array.from({ length: 8 * people + 1 }, (_, at) => (people + at) / people);
    const alike = sums.filter((one) => openMean(one, people, [1, 9], 0.5) === given);
    expect(alike.length).toBeGreaterThanOrEqual(3);
  });

  test('comparisons with the control are not told: t beside its error leads back to the sums', () => {
    expect(control.comparisons?.rows.length).toBe(2);
    expect(tell(control, { tier: 'coarse' }).part.comparisons).toBeNull();
  });

  // Shares of squares beside a told half step of the means give back the squares, and with them the spread of the marks.
  test.each(['coarse', 'agreed'] as const)(
    '%s: the verdict on the control is as rough as the same in its figures',
    (tier) => {
      const exact = control.verdict;
      if (!exact) throw new Error('the fixture has no verdict');
      const told = tell(control, { tier }).part;
      expect(told.verdict).toEqual({
        ...exact,
        marks: toStep(exact.marks, 0.1),
        ranks: toStep(exact.ranks, 0.1),
        p: bandOf(exact.p),
        // Where drawing stopped at a thousand orders that reached it, the orders drawn are p.
        permutations: null,
      });
      expect(told.verdict?.marks).not.toBe(exact.marks);
      expect(tell({ ...control, verdict: null }, { tier }).part.verdict).toBeNull();
    },
  );

  test('an attribute for which a sample had too few people leaves with its words, also of a large panel', () => {
    const attributes = rating.attributes.map((own, at) =>
      at === 1
        ? { ...own, samples: own.samples.map((one) => ({ ...one, assessors: one.sample === 's1' ? 4 : 12 })) }
        : own,
    );
    const { part, withheld } = tell({ ...rating, attributes });
    expect(part.attributes).toEqual([rating.attributes[0]]);
    expect(part.finding.headline).toBe('A difference was shown in sour.');
    expect(part.finding.lede).not.toContain('sweet');
    expect(part.methods.every(({ inputs }) => inputs === 'marks of twelve people')).toBe(true);
    expect(withheld.cells).toBe(3);
  });
});
