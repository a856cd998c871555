import { markFigures, type MarkPlan } from '@oddglass/shared/analysis/rating/figures.ts';
import type { AskedMark } from '@oddglass/shared/analysis/rating/marks.ts';
import { routeInWords } from '@oddglass/shared/analysis/rating/verdict.ts';
import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { describe, expect, test } from 'vitest';
import { armId } from '../common/flight-input.ts';
import { noise } from './rating-input.ts';

// Figures of marks where they turn: a p that is alpha, answers that do not agree, positions that stand out or cannot.

const NAMES = ['Cool', 'Warm', 'Wild'];
const planOf = (samples: number, alpha = 0.05): MarkPlan => ({
  samples: Array.from({ length: samples }, (_, at) => ({
    key: `s${at + 1}`,
    armId: armId(at),
    name: NAMES[at] ?? '',
    role: 'sample' as const,
    spike: null,
    control: false,
  })),
  scale: { lowest: 0, highest: 100, steps: false },
  alpha,
  blocks: false,
  stands: 'the finding',
  random: seededRandom(new Uint8Array(32).fill(7)),
});

/** One mark for each person (rows) and sample (columns); places in the order in which they were tasted. */
const table = (
  rows: readonly (readonly (number | null)[])[],
  orderOf: (person: number) => readonly number[] = () => rows[0]!.map((_value, place) => place),
  replicate = 1,
): AskedMark[] =>
  rows.flatMap((row, person) =>
    orderOf(person).map((place, at) => ({
      assessor: `p${String(person).padStart(2, '0')}`,
      replicate,
      place,
      position: at + 1,
      answered: true,
      value: row[place] ?? null,
    })),
  );
const figuresOf = (marks: AskedMark[], plan: MarkPlan): MarkFigures =>
  markFigures([{ about: 'bitterness', marks }], plan)[0]!;

describe('p at alpha is a difference', () => {
  const panel = (seed: number): number[][] => {
    const { normal } = noise(seed);
    return Array.from({ length: 7 }, () => [44, 50, 52].map((mean) => mean + 6 * normal()));
  };
  const rows = panel(11);
  const at = (alpha: number, marks = table(rows)) => figuresOf(marks, planOf(3, alpha));
  const just = (p: number) => [p, p * (1 - 1e-9)] as const;

  test('of the permutation test: eight people alike about two samples have p = 2 / 2^8', () => {
    const alike = table(Array<number[]>(8).fill([30, 60]));
    const verdictAt = (alpha: number) => figuresOf(alike, planOf(2, alpha)).shown;
    expect(just(2 / 2 ** 8).map(verdictAt)).toEqual([true, false]);
  });

  test.each([
    [11, 'means'],
    [12, 'ranks'],
  ])(
    'of every answer beside it, each said by itself where they do not agree: panel %d, by %s first',
    (seed, least) => {
      const marks = table(panel(seed));
      const { verdict, test: means, ranks } = at(0.05, marks);
      const p = [verdict!.adjusted, means!.adjusted, ranks!.adjusted];
      // Three different p, so that alphas between them tell each answer from the others.
      expect(new Set(p).size).toBe(3);
      expect(Math.min(...p)).toBe(least === 'means' ? p[1] : p[2]);
      const says = (shows: boolean): string => (shows ? 'shows a difference' : 'shows none');
      const seen = new Set<string>();
      for (const alpha of p.flatMap(just)) {
        const [shown, byMeans, byRanks] = p.map((one) => one <= alpha);
        const { agree, trustReading, shown: claimed } = at(alpha, marks);
        expect(claimed).toBe(shown);
        expect(agree).toBe(shown === byMeans && shown === byRanks);
        expect(trustReading).toBe(
          agree
            ? `At alpha ${alpha} the F test of means and the rank test say the same.`
            : `At alpha ${alpha} the permutation test ${says(shown!)}, the F test of means ${says(byMeans!)} and the rank test ${says(byRanks!)}. The finding stands on the permutation test, which was chosen before any tasting.`,
        );
        seen.add(String(agree));
      }
      expect(seen).toEqual(new Set(['true', 'false']));
    },
  );

  /** Pairs less clear than the finding, which therefore stands where alpha is their p. */
  const lessClear = (found: MarkFigures, p: readonly number[]): [number, number][] => {
    expect(found.shown).toBe(true);
    const kept = [...p.entries()].filter(([, one]) => one > found.verdict!.adjusted && one < 1);
    expect(kept.length).toBeGreaterThan(0);
    return kept;
  };

  test('of pairs by means', () => {
    const clear = table(rows.map((row) => row.map((value, place) => value + [0, 4, 10][place]!)));
    const found = at(0.05, clear);
    expect(found.trust).toBe('means');
    for (const [index, p] of lessClear(
      found,
      found.pairs.map(({ pTukey }) => pTukey),
    )) {
      expect(just(p).map((alpha) => at(alpha, clear).pairs[index]!.differs)).toEqual([true, false]);
    }
  });

  test('of pairs by ranks', () => {
    const piled = table(
      rows.map(([, second = 0, third = 0], person) => [person === 0 ? 2 : 0, second, third + 8]),
    );
    const found = at(0.05, piled);
    expect(found.trust).toBe('ranks');
    for (const [index, p] of lessClear(
      found,
      found.ranks!.pairs.map((pair) => pair.p),
    )) {
      expect(just(p).map((alpha) => at(alpha, piled).ranks!.pairs[index]!.differs)).toEqual([true, false]);
    }
  });
});

describe('what pairs are told by', () => {
  test('where means have no test it is for that, even where marks stand at one end', () => {
    const found = figuresOf(table(Array<number[]>(8).fill([0, 60])), planOf(2));
    expect(found.ends.low).toBe(0.5);
    expect(found.trustReading).toBe(
      'At alpha 0.05 the rank test says the same. Pairs and letters are by ranks, since marks leave no error variation.',
    );
  });

  test('where there are neither ranks nor means it is not by ranks', () => {
    const found = figuresOf(table([[30, 60]]), planOf(2));
    expect([found.ranks, found.test, found.trust]).toEqual([null, null, 'means']);
  });

  test('where a difference is not shown why pairs would be by ranks is not told', () => {
    const found = figuresOf(
      table([
        [0, 0],
        [0, 1],
        [1, 0],
        [5, 0],
      ]),
      planOf(2),
    );
    expect([found.shown, found.trust]).toEqual([false, 'ranks']);
    expect(found.trustReading).not.toMatch(/Pairs and letters/);
  });

  test('samples are named in cautions as they are called', () => {
    const rows = [
      [30, 41, 55],
      [33, 44, null],
      [29, 46, null],
      [35, 40, null],
    ];
    expect(figuresOf(table(rows), planOf(3)).cautions).toContain(
      'Wild was rated by one assessor only; its mean rests on that one palate.',
    );
  });

  test('a mean is the same to the last bit in whatever order marks are handed over', () => {
    // In floating point 0.1 + 0.2 + 0.3 and 0.3 + 0.2 + 0.1 differ.
    const values = [0.1, 0.2, 0.3];
    const orders = [
      [0, 1, 2],
      [0, 2, 1],
      [1, 0, 2],
      [1, 2, 0],
      [2, 0, 1],
      [2, 1, 0],
    ];
    const means = orders.map((order) => {
      const marks = table(order.map((at) => [values[at]!, 9]));
      return figuresOf(marks, planOf(2)).samples[0]!.mean;
    });
    expect(new Set(means).size).toBe(1);
  });
});

describe('positions', () => {
  const { normal } = noise(5);
  const inTurn = (person: number): number[] => (person % 2 === 0 ? [0, 1] : [1, 0]);
  const rows = Array.from({ length: 10 }, () => [40 + normal(), 60 + normal()]);

  test('are listed from the first on, in whatever order marks are handed over', () => {
    const { normal: off } = noise(8);
    const three = table(
      Array.from({ length: 6 }, () => [30, 40, 50].map((mean) => mean + off())),
      (person) => [0, 1, 2].map((at) => (at + person) % 3),
    );
    const wanted = figuresOf(three, planOf(3)).positions;
    expect(wanted.rows.map(({ position }) => position)).toEqual([1, 2, 3]);
    const byPosition = (of: readonly number[]) =>
      of.flatMap((position) => three.filter((mark) => mark.position === position));
    for (const order of [
      [3, 2, 1],
      [2, 3, 1],
      [3, 1, 2],
      [2, 1, 3],
    ]) {
      const { rows: told } = figuresOf(byPosition(order), planOf(3)).positions;
      expect(told.map(({ position, n }) => [position, n])).toEqual([
        [1, 6],
        [2, 6],
        [3, 6],
      ]);
    }
  });

  test('say nothing where every cup was the first of its tray', () => {
    const alone = table(rows, inTurn).map((mark) => ({ ...mark, position: 1 }));
    const { positions, spread } = figuresOf(alone, planOf(2));
    expect(spread).not.toBeNull();
    expect(positions.rows).toHaveLength(1);
    expect(positions.reading).toBe('There are too few positions to see whether order mattered.');
  });

  test('stand out against what people differ in about a sample, not against their own error alone', () => {
    // Each person has an own view of each sample, with a spread of 8, and comes back to it within 0.2.
    const { normal: view } = noise(21);
    const views = Array.from({ length: 10 }, () => [50 + 8 * view(), 50 + 8 * view()]);
    const again = [1, 2, 3].flatMap((replicate) =>
      table(
        views.map((row) => row.map((value) => value + 0.2 * view())),
        inTurn,
        replicate,
      ),
    );
    const { spread, positions } = figuresOf(again, planOf(2));
    expect(spread!.interaction).toBeGreaterThan(4);
    expect(spread!.residual).toBeLessThan(0.4);
    // More than any multiple of the error of 30 marks, and little beside what views differ in.
    expect(Math.abs(positions.rows[0]!.deviation)).toBeGreaterThan(0.3);
    expect(positions.reading).toMatch(/^No position in the flight stands out/);
  });
});

test('how the orders of the permutation test were had is said', () => {
  const { normal } = noise(2);
  const few = figuresOf(table(Array.from({ length: 5 }, () => [normal(), 3 + normal()])), planOf(2)).verdict!;
  const many = figuresOf(
    table(Array.from({ length: 20 }, () => [normal(), 1 + normal(), normal()])),
    planOf(3),
  ).verdict!;
  // 2^5 orders are counted out; 6^20 are too many.
  expect([few.route, routeInWords(few)]).toEqual(['exact', 'all orders']);
  expect([many.route, routeInWords(many)]).toEqual([
    'permutation',
    'random orders, 9,999 unless fewer show that p is large',
  ]);
});
