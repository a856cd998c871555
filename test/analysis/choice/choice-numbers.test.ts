import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { describe, expect, test } from 'vitest';
import { fraction, named, referenceCase } from '../../stats/reference-case.ts';
import { input, PARTS, trays, type PartName } from './choice-input.ts';

const analyse = (name: PartName, n: number, right: number, change = {}) =>
  analyseChoice(input({ ...PARTS[name], ...change }, trays(name, n, right)));

describe('figures of a choice against published and recomputed values', () => {
  const published = referenceCase<{ columns_alpha: string[] }, Record<string, (number | null)[]>>(
    'crit-triangle-fao-published',
  );
  test(`triangle: the verdict turns at the published number: ${named(published)}`, () => {
    const column = published.input.columns_alpha.indexOf('0.05');
    for (const [answers, row] of Object.entries(published.expected)) {
      const [n, needed] = [Number(answers), row[column] ?? NaN];
      expect([n, analyse('triangle', n, needed).finding.verdict]).toEqual([n, 'difference-shown']);
      expect([n, analyse('triangle', n, needed - 1).finding.verdict]).toEqual([n, 'difference-not-shown']);
    }
  });

  test('triangle, 12 assessors: 8 needed (ISO 4120, table of minimum correct answers, from memory)', () => {
    for (let right = 0; right <= 12; right++) {
      const { finding, test: figures } = analyse('triangle', 12, right);
      expect(figures.critical).toBe(8);
      expect(finding.verdict === 'difference-shown').toBe(right >= 8);
    }
  });

  const cells = referenceCase<{ test: string; correct: number; n: number; p0: string }[], number[]>(
    'pvalue-one-sided',
  );
  test(`exact p: ${named(cells)}`, () => {
    const parts: Record<string, PartName> = {
      triangle: 'triangle',
      'duo-trio': 'duo-trio',
      tetrad: 'tetrad',
      'two-of-five': 'two-out-of-five',
      '3-AFC': 'three-afc',
      '2-AFC': 'directional-pair',
    };
    let compared = 0;
    cells.input.forEach(({ test: kind, correct, n, p0 }, index) => {
      const name = parts[kind];
      if (!name || n > 200) return;
      const { test: figures } = analyse(name, n, correct);
      expect(figures.guessRate).toBeCloseTo(fraction(p0), 15);
      expect(figures.p).toBeCloseTo(cells.expected[index] ?? NaN, 12);
      compared += 1;
    });
    expect(compared).toBeGreaterThanOrEqual(8);
  });

  for (const [id, name] of [
    ['dprime-triangle-8-12', 'triangle'],
    ['dprime-duo-trio-26-40', 'duo-trio'],
    ['dprime-2-AFC-13-16', 'directional-pair'],
    ['dprime-3-AFC-11-20', 'three-afc'],
    ['dprime-tetrad-17-36', 'tetrad'],
  ] as const) {
    const known = referenceCase<
      { correct: number; n: number },
      { dprime: number; se_delta: number; ci95_from_clopper_pearson: [number, number] }
    >(id);
    test(`d-prime of each by its own psychometric function: ${named(known)}`, () => {
      // A one-sided test at 2.5 % pairs with a 95 % interval.
      const { dPrime } = analyse(name, known.input.n, known.input.correct, { alpha: 0.025 });
      expect(dPrime?.estimate).toBeCloseTo(known.expected.dprime, 8);
      expect(dPrime?.standardError).toBeCloseTo(known.expected.se_delta, 8);
      expect(dPrime?.lower).toBeCloseTo(known.expected.ci95_from_clopper_pearson[0], 8);
      expect(dPrime?.upper).toBeCloseTo(known.expected.ci95_from_clopper_pearson[1], 8);
    });
  }

  const edges = referenceCase<unknown, { dprime: number | null; signed_dprime?: number }[]>('dprime-edges');
  test(`a pair without a direction has a signed d-prime: ${named(edges)}`, () => {
    const pair = analyse('open-pair', 20, 5);
    expect(pair.dPrime?.estimate).toBeCloseTo(edges.expected[2]?.signed_dprime ?? NaN, 10);
    expect(pair.share).toBeNull();
    expect(pair.posterior).toBeNull();
  });

  const points = referenceCase<{ n: number[] }, Record<'0.05' | '0.01', number[]>>(
    'two-sided-preference-published-points',
  );
  test(`a pair without a direction is two-sided: ${named(points)}`, () => {
    points.input.n.forEach((n, index) => {
      for (const alpha of [0.05, 0.01] as const) {
        const critical = points.expected[`${alpha}`][index] ?? NaN;
        expect(analyse('open-pair', n, n - critical, { alpha }).finding.verdict).toBe('difference-shown');
        expect(analyse('open-pair', n, critical - 1, { alpha }).finding.verdict).toBe('difference-not-shown');
      }
    });
  });

  test('the interval of a pair without a direction leaves out one half exactly when the test speaks', () => {
    for (let named = 0; named <= 30; named++) {
      const { stronger, finding } = analyse('open-pair', 30, named);
      const share = stronger?.share;
      const outside = share ? share.lower > 0.5 || share.upper < 0.5 : false;
      expect([named, outside]).toEqual([named, finding.verdict === 'difference-shown']);
      expect(share?.level).toBe(0.95);
    }
  });

  test('power served for the difference planned: 12 answers, half discriminators (reference power-triangle-12)', () => {
    const known = referenceCase<unknown, { power: number }>('power-triangle-12-0.05-0.5');
    const { power } = analyse('triangle', 12, 4);
    expect(power.power).toBeCloseTo(known.expected.power, 10);
    // min-n-triangle-grid: alpha 0.05, beta 0.2, pd 0.5 -> 16 first.
    expect(power.smallestForPlan).toBe(16);
  });

  test('power of a pair without a direction adds both tails, counted here term by term', () => {
    const { power } = analyse('open-pair', 20, 10);
    // 15 of 20 is the published two-sided number; half discriminators give 3/4.
    let sum = 0;
    let ways = 1;
    for (let k = 0; k <= 20; k++) {
      if (k >= 15 || k <= 5) sum += ways * 0.75 ** k * 0.25 ** (20 - k);
      ways = (ways * (20 - k)) / (k + 1);
    }
    expect(power.power).toBeCloseTo(sum, 12);
  });

  const similarity = referenceCase<
    { test: 'triangle' | 'duo-trio'; correct: number; n: number; pdmax: number }[],
    { p: number; pd_upper95: number }[]
  >('similarity-p-value');
  test(`similarity as planned: ${named(similarity)}`, () => {
    similarity.input.forEach(({ test: name, correct, n, pdmax }, index) => {
      const change = { aim: 'similarity', meaningfulShare: pdmax, beta: 0.05 };
      const { similarity: figures, finding } = analyse(name, n, correct, change);
      const known = similarity.expected[index];
      expect(figures?.p).toBeCloseTo(known?.p ?? NaN, 10);
      expect(figures?.upperShare).toBeCloseTo(known?.pd_upper95 ?? NaN, 8);
      expect(finding.verdict === 'similarity-shown').toBe((known?.p ?? 1) <= 0.05);
    });
  });

  const interval = referenceCase<
    unknown,
    { pd_clopper_pearson_90: [number, number]; pd_clopper_pearson_95: [number, number] }
  >('ci-triangle-15-30');
  test(`share of discriminators with the interval that pairs with the test: ${named(interval)}`, () => {
    for (const [alpha, known] of [
      [0.05, interval.expected.pd_clopper_pearson_90],
      [0.025, interval.expected.pd_clopper_pearson_95],
    ] as const) {
      const { share } = analyse('triangle', 30, 15, { alpha });
      expect(share?.estimate).toBeCloseTo(0.25, 12);
      expect(share?.lower).toBeCloseTo(known[0], 9);
      expect(share?.upper).toBeCloseTo(known[1], 9);
    }
  });

  test('probability that the share matters: 13 of 24, limit 0.2, flat prior (recomputed by adding up the mixture)', () => {
    const { posterior } = analyse('triangle', 24, 13, { meaningfulShare: 0.2 });
    expect(posterior?.exceeds).toBeCloseTo(0.781886566622, 10);
    expect(posterior?.exceedsBefore).toBeCloseTo(0.8, 12);
    // The same by plain integration over the share, 2,000 steps by Simpson's rule.
    const likelihood = (pd: number) => (1 / 3 + (2 / 3) * pd) ** 13 * ((2 / 3) * (1 - pd)) ** 11;
    const simpson = (from: number, to: number) => {
      const h = (to - from) / 2000;
      let sum = 0;
      for (let i = 0; i <= 2000; i++) {
        sum += likelihood(from + i * h) * (i === 0 || i === 2000 ? 1 : i % 2 === 1 ? 4 : 2);
      }
      return (sum * h) / 3;
    };
    expect(posterior?.exceeds).toBeCloseTo(simpson(0.2, 1) / simpson(0, 1), 8);
  });
});
