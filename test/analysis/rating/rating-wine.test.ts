import { readFileSync } from 'node:fs';
import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import { ratingResult } from '@oddglass/shared/contracts/result-rating.ts';
import { describe, expect, it } from 'vitest';
import { referenceCase } from '../../stats/reference-case.ts';
import { armId, flightInput } from '../common/flight-input.ts';
import { ratedTray, ratingPart } from './rating-input.ts';

interface Mean {
  sample: string;
  mean: number;
  standardError: number;
  df: number;
  lower: number;
  upper: number;
}
interface Wine {
  source: string;
  rows: { judge: number; temp: string; contact: string; bottle: number; response: number }[];
  balanced: {
    anova: { f: number; df1: number; df2: number; p: number };
    means: Mean[];
    spread: { assessor: number; interaction: number; residual: number };
    friedman: { chiSquare: number; p: number };
  };
  missing: {
    dropped: number[];
    test: { f: number; df1: number; df2: number; p: number };
    means: Mean[];
    spread: { assessor: number; interaction: number; residual: number };
    pairs: { pair: string; difference: number; standardError: number; df: number; pTukey: number }[];
  };
}

// Randall 1989, nine judges on the bitterness of wine, as shipped with the R package ordinal; analyses by R (see the file).
const file = new URL('../../reference/wine-randall-1989.json', import.meta.url);
const wine = JSON.parse(readFileSync(file, 'utf8')) as Wine;
const WINES = ['cold no', 'cold yes', 'warm no', 'warm yes'];

/** Four wines with a hidden duplicate each: bottles 1, 3, 5, 7 are samples, 2, 4, 6, 8 their duplicates. */
function evening(gone: readonly number[] = []) {
  const part = ratingPart(
    4,
    ['bitterness'],
    WINES.map((_wine, arm) => ({ armId: armId(arm), role: 'duplicate', spike: null })),
  );
  const trays = Array.from({ length: 9 }, (_judge, judge) => {
    const own = wine.rows
      .map((row, index) => ({ ...row, gone: gone.includes(index + 1) }))
      .filter((row) => row.judge === judge + 1);
    return ratedTray(
      part,
      `judge ${judge + 1}`,
      own.map(
        ({ temp, contact, bottle }) => WINES.indexOf(`${temp} ${contact}`) + (bottle % 2 === 1 ? 0 : 4),
      ),
      own.map((row) => [row.gone ? null : row.response]),
    );
  });
  const result = analyseRating(flightInput(part, trays));
  const attribute = result.attributes[0];
  if (!attribute) throw new Error('no attribute');
  return { result, attribute };
}

const nameOf = (key: string): string => WINES[Number(key.slice(1)) - 1] ?? key;
const relative = (ours: number, theirs: number): number => Math.abs(ours - theirs) / Math.abs(theirs);

describe('nine judges on wine (Randall 1989; R package ordinal, lmerTest)', () => {
  const published = referenceCase<
    unknown,
    { F_product_mixed: number; p_product_mixed: number; means: Record<string, number> }
  >('anova-wine-replicated').expected;
  const tukey = referenceCase<unknown, { pairs: string[]; absdiff: number[]; p: number[] }>(
    'tukey-wine',
  ).expected;
  const { result, attribute } = evening();

  it('gives the published F of the full table, bottles as hidden duplicates', () => {
    expect(attribute.test?.by).toBe('anova');
    expect(attribute.test?.f).toBeCloseTo(published.F_product_mixed, 8);
    expect(attribute.test?.f).toBeCloseTo(wine.balanced.anova.f, 8);
    expect([attribute.test?.df1, attribute.test?.df2]).toEqual([3, 24]);
    expect(relative(attribute.test?.p ?? 1, published.p_product_mixed)).toBeLessThan(1e-6);
    expect(attribute.n).toBe(72);
  });

  it('gives means, intervals and spreads as lmerTest', () => {
    for (const row of attribute.samples) {
      const theirs = wine.balanced.means.find(({ sample }) => sample === nameOf(row.sample));
      expect(row.mean).toBeCloseTo(published.means[nameOf(row.sample)] ?? 0, 8);
      expect(row.estimated?.mean).toBeCloseTo(theirs?.mean ?? 0, 8);
      expect(relative(row.estimated?.standardError ?? 0, theirs?.standardError ?? 0)).toBeLessThan(1e-6);
      expect(relative(row.estimated?.lower ?? 0, theirs?.lower ?? 0)).toBeLessThan(1e-6);
      expect(relative(row.estimated?.upper ?? 0, theirs?.upper ?? 0)).toBeLessThan(1e-6);
      expect(row.n).toBe(18);
    }
    const { assessor, interaction, residual } = wine.balanced.spread;
    expect(relative(attribute.spread?.assessor ?? 0, assessor)).toBeLessThan(1e-6);
    expect(relative(attribute.spread?.interaction ?? 0, interaction)).toBeLessThan(1e-6);
    expect(relative(attribute.spread?.residual ?? 0, residual)).toBeLessThan(1e-6);
    // Within-cell mean square of the same table, 139.583333333 (stats::aov).
    expect(attribute.repeatability?.standardDeviation).toBeCloseTo(Math.sqrt(139.583333333333), 8);
    expect(attribute.repeatability?.df).toBe(36);
  });

  it('compares pairs as ptukey does, and letters follow', () => {
    tukey.pairs.forEach((pair, index) => {
      const [one, other] = pair.split(' - ');
      const ours = attribute.pairs.find(
        ({ first, second }) => nameOf(first) === one && nameOf(second) === other,
      );
      expect(Math.abs(ours?.difference ?? 0)).toBeCloseTo(tukey.absdiff[index] ?? 0, 8);
      expect(ours?.pTukey).toBeCloseTo(tukey.p[index] ?? 0, 6);
    });
    expect(attribute.samples.map(({ letters }) => letters)).toEqual(['c', 'bc', 'b', 'a']);
  });

  it('sets the rank-based answer beside it', () => {
    expect(attribute.ranks?.chiSquare).toBeCloseTo(wine.balanced.friedman.chiSquare, 8);
    expect(attribute.ranks?.pairs).toHaveLength(6);
    expect(attribute.agree).toBe(true);
    expect(attribute.shown).toBe(true);
    expect(attribute.trust).toBe('means');
  });

  it('says it in words and keeps to its contract', () => {
    expect(result.finding.headline).toBe('The samples differ in ‘bitterness’.');
    expect(result.finding.lede).toContain('permutation test within people, p < 0.001; F(3, 24) = 25.14');
    expect(ratingResult.parse(structuredClone(result))).toEqual(result);
    expect(result.duplicates).toHaveLength(4);
  });

  it('with ten marks gone takes the mixed model of lmerTest', () => {
    const { missing } = wine;
    const { attribute: gaps, result: document } = evening(missing.dropped);
    expect(gaps.test?.by).toBe('mixed');
    expect(gaps.n).toBe(62);
    expect(gaps.declined).toBe(10);
    expect(relative(gaps.test?.f ?? 0, missing.test.f)).toBeLessThan(1e-6);
    expect(relative(gaps.test?.df2 ?? 0, missing.test.df2)).toBeLessThan(1e-5);
    expect(relative(gaps.spread?.interaction ?? 0, missing.spread.interaction)).toBeLessThan(1e-5);
    for (const row of gaps.samples) {
      const theirs = missing.means.find(({ sample }) => sample === nameOf(row.sample));
      expect(relative(row.estimated?.mean ?? 0, theirs?.mean ?? 0)).toBeLessThan(1e-6);
      expect(relative(row.estimated?.lower ?? 0, theirs?.lower ?? 0)).toBeLessThan(1e-5);
    }
    for (const { pair, difference, standardError, pTukey } of missing.pairs) {
      const [one, other] = pair.split(' - ');
      const ours = gaps.pairs.find(({ first, second }) => nameOf(first) === one && nameOf(second) === other);
      expect(relative(ours?.difference ?? 0, difference)).toBeLessThan(1e-5);
      expect(relative(ours?.standardError ?? 0, standardError)).toBeLessThan(1e-5);
      expect(Math.abs((ours?.pTukey ?? 1) - pTukey)).toBeLessThan(1e-5);
    }
    expect(document.caveats.some(({ text }) => text.startsWith('10 marks were declined'))).toBe(true);
  });
});
