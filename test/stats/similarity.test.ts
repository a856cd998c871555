import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { GUESS_RATE, type TestKind } from '@oddglass/shared/stats/discrimination/guessing.ts';
import {
  maxCorrect,
  powerOfSimilarity,
  similarityTest,
  smallestForSimilarity,
} from '@oddglass/shared/stats/discrimination/similarity.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { lowerTails } from './rational.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const plan = { beta: 0.05, pdMax: 0.3, guessRate: 1 / 3 };

describe('similarity test', () => {
  const most = referenceCase<
    { n: number[]; beta: number[]; pdmax: number[] },
    Record<string, Record<string, number[]>>
  >('similarity-max-correct-triangle');
  it(named(most), () => {
    for (const beta of most.input.beta) {
      for (const pdMax of most.input.pdmax) {
        const ours = most.input.n.map((n) => maxCorrect({ n, beta, pdMax, guessRate: 1 / 3 }) ?? -1);
        expect(ours, `beta ${beta}, pdMax ${pdMax}`).toEqual(most.expected[String(beta)]?.[String(pdMax)]);
      }
    }
  });

  const published = referenceCase<
    { test: TestKind; correct: number; n: number; pdmax: number }[],
    { p: number; pd_upper95: number }[]
  >('similarity-p-value');
  it(named(published), () => {
    published.input.forEach(({ test, correct, n, pdmax }, index) => {
      const wanted = published.expected[index];
      const ours = similarityTest({ correct, n, beta: 0.05, pdMax: pdmax, guessRate: GUESS_RATE[test] });
      expectWithin(ours.p, wanted?.p ?? NaN, published.tolerance);
      expectWithin(ours.upperShare, wanted?.pd_upper95 ?? NaN, published.tolerance);
      expect(ours.similar).toBe((wanted?.p ?? 1) <= 0.05);
    });
  });

  it('is exact to 1e-12, and finds its count, for every n from 0 to 200 (pdMax = 0.3 is pc = 8/15)', () => {
    for (let n = 0; n <= 200; n += 1) {
      const tails = lowerTails(n, 8n, 15n);
      const last = tails.filter((tail) => tail <= 0.05).length - 1;
      expect(maxCorrect({ n, ...plan }), `n = ${n}`).toBe(last < 0 ? null : last);
      for (let correct = 0; correct <= n; correct += 7) {
        expectRelative(similarityTest({ correct, n, ...plan }).p, tails[correct] ?? NaN, 1e-12);
      }
    }
  });

  it('says the same three ways: p, count and upper limit', () => {
    fc.assert(
      fc.property(
        fc
          .integer({ min: 1, max: 200 })
          .chain((n) => fc.tuple(fc.constant(n), fc.integer({ min: 0, max: n }))),
        fc.constantFrom(0.1, 0.2, 0.3, 0.5),
        fc.constantFrom(0.01, 0.05, 0.1),
        ([n, correct], pdMax, beta) => {
          const { p, similar, upperShareUntruncated } = similarityTest({
            correct,
            n,
            beta,
            pdMax,
            guessRate: 1 / 3,
          });
          expect(similar).toBe(p <= beta);
          expect(upperShareUntruncated < pdMax).toBe(similar);
        },
      ),
    );
  });

  it('tells a panel too small before the session', () => {
    expect(similarityTest({ correct: 0, n: 3, ...plan })).toMatchObject({
      mostCorrect: null,
      similar: false,
      tooSmall: true,
    });
    expect(similarityTest({ correct: 9, n: 30, ...plan, pdMax: 0.2 })).toMatchObject({
      mostCorrect: 9,
      tooSmall: true,
    });
    expect(similarityTest({ correct: 28, n: 66, ...plan })).toMatchObject({
      mostCorrect: 28,
      tooSmall: false,
    });
  });

  it('shows nothing without data', () => {
    expect(similarityTest({ correct: 0, n: 0, ...plan })).toMatchObject({
      p: 1,
      similar: false,
      mostCorrect: null,
      upperShare: 1,
    });
  });

  it('refuses a limit of 0 and a risk of 1', () => {
    expect(() => maxCorrect({ n: 30, ...plan, pdMax: 0 })).toThrowError(StatsInputError);
    expect(() => maxCorrect({ n: 30, ...plan, beta: 1 })).toThrowError(
      expect.objectContaining({ field: 'beta' }),
    );
    expect(maxCorrect({ n: 30, ...plan, pdMax: 1 })).toBe(29);
  });
});

describe('planning a similarity test', () => {
  it('power is the exact chance of at most the critical count', () => {
    const { power, mostCorrect } = powerOfSimilarity({ n: 66, ...plan });
    expect(mostCorrect).toBe(28);
    expectRelative(power, lowerTails(66, 1n, 3n)[28] ?? NaN, 1e-12);
    const some = powerOfSimilarity({ n: 66, pd: 0.1, ...plan });
    expectRelative(some.power, lowerTails(66, 2n, 5n)[28] ?? NaN, 1e-12);
    expect(powerOfSimilarity({ n: 2, ...plan })).toMatchObject({ power: 0, mostCorrect: null });
  });

  it('finds the first and the stable n, by looking at every n', () => {
    const alpha = 0.1;
    const reached = (n: number) => powerOfSimilarity({ n, ...plan }).power >= 1 - alpha;
    const all = Array.from({ length: 400 }, (_, index) => index + 1);
    const first = all.find(reached);
    const stable = (all.findLast((n) => !reached(n)) ?? NaN) + 1;
    expect(smallestForSimilarity({ alpha, ...plan })).toEqual({ first, stable });
  });

  it('gives up when the true share is not below the limit or 2,000 are not enough', () => {
    expect(smallestForSimilarity({ alpha: 0.1, pd: 0.3, ...plan })).toBeNull();
    expect(smallestForSimilarity({ alpha: 0.1, ...plan, pdMax: 0.02 })).toBeNull();
  });
});
