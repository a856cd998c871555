import { markFigures, type MarkPlan } from '@oddglass/shared/analysis/rating/figures.ts';
import type { AskedMark } from '@oddglass/shared/analysis/rating/marks.ts';
import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { sharedLetters } from '@oddglass/shared/stats/ranking/shared-letters.ts';
import { describe, expect, test } from 'vitest';
import { armId } from '../common/flight-input.ts';
import { once } from '../../support/once.ts';
import { noise } from './rating-input.ts';

// The figures of a list of marks that can be counted by hand: who marked what, how the scale was used, what order did, and
// that pairs, letters and sentences keep to the answer they are told by.

const NAMES = ['Cool', 'Warm', 'Wild', 'Oak', 'Peel'];
const LINE = { lowest: 0, highest: 100, steps: false };
const NINE = { lowest: 1, highest: 9, steps: true };

function planOf(samples: number, change: Partial<MarkPlan> = {}): MarkPlan {
  return {
    samples: Array.from({ length: samples }, (_, at) => ({
      key: `s${at + 1}`,
      armId: armId(at),
      name: NAMES[at] ?? '',
      role: 'sample' as const,
      spike: null,
      control: false,
    })),
    scale: LINE,
    alpha: 0.05,
    blocks: false,
    stands: 'the finding',
    random: seededRandom(new Uint8Array(32).fill(7)),
    ...change,
  };
}

/** One mark for each person (rows) and sample (columns), in one order for all; null is declined, undefined unanswered. */
const table = (
  rows: readonly (readonly (number | null | undefined)[])[],
  orderOf: (person: number) => readonly number[] = () => rows[0]!.map((_value, place) => place),
): AskedMark[] =>
  rows.flatMap((row, person) =>
    orderOf(person).map((place, at) => ({
      assessor: `p${String(person).padStart(2, '0')}`,
      replicate: 1,
      place,
      position: at + 1,
      answered: row[place] !== undefined,
      value: row[place] ?? null,
    })),
  );

const figuresOf = (marks: AskedMark[], plan: MarkPlan, about = 'bitterness'): MarkFigures =>
  markFigures([{ about, marks }], plan)[0]!;

describe('who marked what', () => {
  const marks = table([
    [1, 4, 9],
    [2, null, 8],
    [1, undefined, 8],
    [null, 5, undefined],
    [3, 4, 7],
  ]);
  const found = once(() => figuresOf(marks, planOf(3, { scale: NINE })));

  test('marks, people, and what was declined or stayed unanswered, in all and by sample', () => {
    const { n, assessors, declined, unanswered, samples } = found();
    expect({ n, assessors, declined, unanswered }).toEqual({
      n: 11,
      assessors: 5,
      declined: 2,
      unanswered: 2,
    });
    expect(samples.map((row) => [row.sample, row.n, row.assessors, row.declined, row.unanswered])).toEqual([
      ['s1', 4, 4, 1, 0],
      ['s2', 3, 3, 1, 1],
      ['s3', 4, 4, 0, 1],
    ]);
  });

  test('means, and how often each step was used, from the lowest to the highest', () => {
    const { samples } = found();
    expect(samples.map(({ mean }) => mean)).toEqual([7 / 4, 13 / 3, 8]);
    expect(samples.map(({ counts }) => counts.map(({ value }) => value))).toEqual(
      Array(3).fill([1, 2, 3, 4, 5, 6, 7, 8, 9]),
    );
    expect(samples.map(({ counts }) => counts.map(({ marks: own }) => own))).toEqual([
      [2, 1, 1, 0, 0, 0, 0, 0, 0],
      [0, 0, 0, 2, 1, 0, 0, 0, 0],
      [0, 0, 0, 0, 0, 0, 1, 2, 1],
    ]);
    // A line has no steps to count.
    expect(figuresOf(marks, planOf(3)).samples.map(({ counts }) => counts)).toEqual([[], [], []]);
  });

  test('shares of marks at the two ends', () => {
    expect(found().ends).toEqual({ low: 2 / 11, high: 1 / 11 });
  });

  test('two cups of one sample are two marks of one person', () => {
    const twice = [...table([[10, 20]]), ...table([[30, 40]])];
    const { samples, assessors, n } = figuresOf(twice, planOf(2));
    expect([n, assessors]).toEqual([4, 1]);
    expect(samples.map((row) => [row.n, row.assessors, row.mean])).toEqual([
      [2, 1, 20],
      [2, 1, 30],
    ]);
  });

  test('without a single mark nothing is counted or claimed', () => {
    const {
      samples,
      ends,
      ranks,
      test: tested,
      verdict,
      agree,
      shown,
      positions,
      trustReading,
      ...rest
    } = figuresOf(table([[null, undefined]]), planOf(2));
    expect(samples.map(({ mean, estimated, letters }) => [mean, estimated, letters])).toEqual(
      Array(2).fill([null, null, null]),
    );
    expect({ ends, ranks, tested, verdict, agree, shown, trustReading }).toEqual({
      ends: { low: 0, high: 0 },
      ranks: null,
      tested: null,
      verdict: null,
      agree: null,
      shown: false,
      trustReading: '',
    });
    expect(rest.reason).not.toBeNull();
    expect(positions.rows).toEqual([]);
    expect(positions.reading).toBe('There are too few positions to see whether order mattered.');
  });
});

describe('what order did', () => {
  /** Eight people, half of them in the other order; the first cup is marked higher by twice the lift. */
  function ordered(lift: number, scatter: number): MarkFigures {
    const orderOf = (person: number): number[] => (person % 2 === 0 ? [1, 0] : [0, 1]);
    const rows = Array.from({ length: 8 }, (_, person) =>
      [0, 1].map((place) => {
        const first = orderOf(person)[0] === place;
        // Alike for both orders and both samples, so that it takes nothing from the lift.
        const off = scatter * [1, -1, -1, 1][Math.floor(person / 2)]! * (place === 0 ? 1 : -1);
        return 40 + 20 * place + (first ? lift : -lift) + off;
      }),
    );
    return figuresOf(table(rows, orderOf), planOf(2));
  }

  test('marks by position, less the mean of their sample, from the first position on', () => {
    const { rows } = ordered(3, 0.5).positions;
    expect(rows).toEqual([
      { position: 1, n: 8, mean: 53, deviation: 3 },
      { position: 2, n: 8, mean: 47, deviation: -3 },
    ]);
  });

  test('a position that stands out is named with how much, and the way it went', () => {
    // Without a further error the spread is that of the order alone, and nothing stands out of it.
    expect(ordered(3, 0.5).positions.reading).toMatch(/^No position in the flight stands out/);
    const { positions } = figuresOf(lifted(4), planOf(3));
    expect(positions.rows.map(({ n }) => n)).toEqual([24, 24, 24]);
    expect(positions.reading).toBe(
      `Order mattered: at position 1 marks are ${amount(positions.rows[0])} higher than their samples’ means; at position 3 marks are ${amount(positions.rows[2])} lower than their samples’ means. Orders are balanced, so that this adds noise rather than favour a sample.`,
    );
    expect(figuresOf(lifted(0), planOf(3)).positions.reading).toMatch(
      /^No position in the flight stands out/,
    );
  });

  const amount = (row: { deviation: number } | undefined): string =>
    Math.abs(row?.deviation ?? 0)
      .toPrecision(2)
      .replace(/\.0$/, '');

  /** 24 people in three orders; marks fall by `lift` from cup to cup, with an error of one. */
  function lifted(lift: number): AskedMark[] {
    const { normal } = noise(3);
    const orderOf = (person: number): number[] => [0, 1, 2].map((at) => (at + person) % 3);
    const rows = Array.from({ length: 24 }, (_, person) =>
      [0, 1, 2].map((place) => 50 + 5 * place - lift * (orderOf(person).indexOf(place) - 1) + normal()),
    );
    return table(rows, orderOf);
  }
});

describe('pairs and letters', () => {
  const { normal } = noise(4);
  const rows = Array.from({ length: 12 }, () => [30, 50, 51].map((mean) => mean + 6 * normal()));
  const apart = once(() => figuresOf(table(rows), planOf(3)));

  test('by means where nothing speaks against them: Tukey at alpha, letters from the highest mean', () => {
    const found = apart();
    expect([found.shown, found.trust, found.agree]).toEqual([true, 'means', true]);
    expect(found.pairs.map(({ first, second, differs }) => [first, second, differs])).toEqual([
      ['s1', 's2', true],
      ['s1', 's3', true],
      ['s2', 's3', false],
    ]);
    expect(found.pairs.map(({ pTukey }) => pTukey <= 0.05)).toEqual([true, true, false]);
    expect(found.samples.map(({ letters }) => letters)).toEqual(['b', 'a', 'a']);
    // Ranks stand beside, and tell no pair.
    expect(found.ranks?.pairs.some(({ differs }) => differs)).toBe(false);
    expect(found.ranks?.samples.map(({ letters }) => letters)).toEqual([null, null, null]);
    expect(found.trustReading).toBe('At alpha 0.05 the F test of means and the rank test say the same.');
  });

  test('of a stricter alpha fewer are told, and none where the finding shows nothing', () => {
    const strict = figuresOf(table(rows), planOf(3, { alpha: 1e-7 }));
    expect([strict.shown, strict.pairs.some(({ differs }) => differs)]).toEqual([false, false]);
    expect(strict.samples.map(({ letters }) => letters)).toEqual([null, null, null]);
    expect(strict.samples.map(({ estimated }) => estimated === null)).toEqual([false, false, false]);
    expect(strict.reading).toContain('Not shown does not mean alike.');
  });

  test('by ranks where marks pile up at an end: p of the rank test’s pairs, letters from the highest mean rank', () => {
    const low = rows.map(([, second = 0, third = 0], at) => [at % 4 === 0 ? 6 : 0, second, third]);
    const found = figuresOf(table(low), planOf(3));
    expect([found.shown, found.trust]).toEqual([true, 'ranks']);
    expect(found.pairs.some(({ differs }) => differs)).toBe(false);
    const ranks = found.ranks!;
    expect(ranks.pairs.map(({ differs }) => differs)).toEqual(ranks.pairs.map(({ p }) => p <= 0.05));
    expect(ranks.pairs.filter(({ differs }) => differs).length).toBeGreaterThan(0);
    const heights = ranks.samples.map(({ meanRank }) => meanRank ?? 0);
    const letters = sharedLetters({
      samples: 3,
      different: ranks.pairs
        .filter(({ differs }) => differs)
        .map(({ first, second }) => [Number(first[1]) - 1, Number(second[1]) - 1] as const),
      order: [0, 1, 2].sort((a, b) => heights[b]! - heights[a]!),
    });
    expect(ranks.samples.map((row) => row.letters)).toEqual(letters);
    expect(found.samples.map((row) => row.letters)).toEqual(letters);
    expect(found.trustReading).toMatch(
      /^At alpha 0\.05 .*Pairs and letters are by ranks, since .*a quarter or more of the marks stand at one end of the scale\.$/,
    );
    // The upper end counts as the lower one does.
    const high = low.map((row) => row.map((value) => 100 - value));
    expect(figuresOf(table(high), planOf(3))).toMatchObject({
      trust: 'ranks',
      ends: { low: 0, high: found.ends.low },
    });
  });

  test('a sample that nobody marked has no letter, and the others keep theirs', () => {
    const found = figuresOf(table(rows.map(([first, second]) => [first, second, null])), planOf(3));
    expect(found.shown).toBe(true);
    expect(found.samples.map(({ letters }) => letters)).toEqual(['b', 'a', null]);
    expect(found.samples[2]).toMatchObject({ n: 0, mean: null, estimated: null, declined: 12 });
  });

  test('estimates are those of the model, whole and for their sample', () => {
    // A balanced table: the estimate is the mean, and its interval lies around it by Student’s t.
    for (const [at, { estimated, mean }] of apart().samples.entries()) {
      const column = rows.map((row) => row[at]!);
      expect(mean).toBeCloseTo(column.reduce((sum, value) => sum + value, 0) / 12, 10);
      expect(estimated?.mean).toBeCloseTo(mean!, 10);
      expect(estimated!.mean - estimated!.lower).toBeCloseTo(estimated!.upper - estimated!.mean, 10);
      const half = estimated!.upper - estimated!.mean;
      expect(half / estimated!.standardError).toBeGreaterThan(1.96);
      expect(half / estimated!.standardError).toBeLessThan(2.3);
      expect(estimated!.df).toBeGreaterThan(10);
    }
  });
});

describe('beside the finding', () => {
  test('where means have no test their pairs are told by ranks, and it says why', () => {
    // Everybody marks alike: no error variation, so no F.
    const found = figuresOf(table(Array(8).fill([30, 60])), planOf(2));
    expect(found.test).toBeNull();
    expect([found.shown, found.trust, found.agree]).toEqual([true, 'ranks', true]);
    expect(found.verdict?.p).toBeCloseTo(2 ** -7, 12);
    expect(found.trustReading).toBe(
      'At alpha 0.05 the rank test says the same. Pairs and letters are by ranks, since marks leave no error variation.',
    );
    expect(found.samples.map(({ letters }) => letters)).toEqual(['b', 'a']);
  });

  test('a person alone gives no finding, and no answer beside one', () => {
    const found = figuresOf(table([[30, 60]]), planOf(2));
    expect([found.verdict, found.test, found.agree, found.trustReading]).toEqual([null, null, null, '']);
    expect(found.reason).toMatch(/one person/);
    expect(found.positions.reading).toBe('There are too few positions to see whether order mattered.');
  });

  test('each list has its own answer, and p is adjusted over all of them by Holm', () => {
    const { normal } = noise(33);
    const clear = table(Array.from({ length: 10 }, () => [30 + normal(), 60 + normal()]));
    const vague = table(Array.from({ length: 10 }, () => [50 + 9 * normal(), 50 + 9 * normal()]));
    const [one, other] = markFigures(
      [
        { about: 'sourness', marks: clear },
        { about: 'salt', marks: vague },
      ],
      planOf(2),
    );
    expect([one!.shown, other!.shown]).toEqual([true, false]);
    for (const answer of ['verdict', 'test', 'ranks'] as const) {
      expect(one![answer]!.adjusted).toBeCloseTo(2 * one![answer]!.p, 12);
      expect(other![answer]!.adjusted).toBeCloseTo(other![answer]!.p, 12);
    }
    expect(one!.reading).toContain('sourness');
    expect(other!.reading).toContain('salt');
    expect(one!.reading).toContain('adjusted for 2 attributes');
  });

  // Thirty people on nine points, most marks of two samples at the lowest; for others the whole scale is used.
  const { uniform } = noise(77);
  const { normal: off } = noise(3);
  const piledUp = (floors: readonly number[]): AskedMark[] =>
    table(
      Array.from({ length: 30 }, () =>
        floors.map((floor) => (uniform() < floor ? 1 : 1 + Math.floor(5 * uniform()))),
      ),
    );
  const piled = piledUp([0.75, 0.7, 0.1]);
  const spread = table(
    Array.from({ length: 30 }, () => [4, 5, 6].map((mean) => Math.round(mean + 1.2 * off()))),
  );

  test('ordered categories are set beside only on steps, where means are in doubt', () => {
    const found = figuresOf(piled, planOf(3, { scale: NINE }));
    expect(found.link!.adjusted).toBe(found.link!.p);
    expect(found.link!.p).toBeLessThan(0.01);
    expect(figuresOf(piled, planOf(3, { scale: { ...NINE, steps: false } })).link).toBeNull();
    const sound = figuresOf(spread, planOf(3, { scale: NINE }));
    expect([sound.trust, sound.link]).toEqual(['means', null]);
  });

  test('of many lists orders by ranks are fewer, never below 999; those of the finding stay, and no ordered categories', () => {
    const marks = piledUp([0.7, 0.6, 0.5, 0.3, 0.1]);
    const drawn = (many: number) => {
      const sets = Array.from({ length: many }, (_, at) => ({ about: `list ${at}`, marks }));
      const { verdict, ranks, link } = markFigures(sets, planOf(5, { scale: NINE }))[many - 1]!;
      return [verdict!.route, verdict!.permutations, ranks!.route, ranks!.permutations, link === null];
    };
    expect(drawn(1)).toEqual(['permutation', 9999, 'permutation', 9999, false]);
    expect(drawn(2)).toEqual(['permutation', 9999, 'permutation', 4999, false]);
    // Twelve lists of 150 marks of five samples are more than are fitted within a page's time.
    expect(drawn(12)).toEqual(['permutation', 9999, 'permutation', 999, true]);
  });
});
