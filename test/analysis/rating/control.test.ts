import { analyseControl } from '@oddglass/shared/analysis/rating/control.ts';
import { controlResult } from '@oddglass/shared/contracts/result-rating.ts';
import { meansAgainstControl } from '@oddglass/shared/stats/rating/compare-with-control.ts';
import { balancedAnova } from '@oddglass/shared/stats/rating/anova.ts';
import { describe, expect, it } from 'vitest';
import { once } from '../../support/once.ts';
import { controlInput, controlPart, noise } from './rating-input.ts';

/** Hidden control, one sample like it, one two steps away. */
function rows(people: number, seed: number): number[][] {
  const { normal } = noise(seed);
  const step = (value: number): number => Math.min(5, Math.max(0, Math.round(value)));
  return Array.from({ length: people }, () => [
    step(1 + 0.8 * normal()),
    step(1 + 0.8 * normal()),
    step(3.2 + 0.8 * normal()),
  ]);
}

describe('difference from control', () => {
  const given = rows(16, 42);
  const seen = once(() => analyseControl(controlInput(controlPart(2), given)));

  it('compares with the hidden control by Dunnett’s test of the full table', () => {
    const result = seen();
    const ratings = given.flatMap((row, person) =>
      row.map((value, place) => ({ assessor: `p${person}`, sample: `s${place}`, value })),
    );
    const { means, error } = balancedAnova({ ratings });
    const dunnett = meansAgainstControl({
      means,
      msError: error?.ms ?? 0,
      df: error?.df ?? 0,
      control: 's0',
      alpha: 0.05,
    });
    expect(result.comparisons?.adjustment).toBe('dunnett');
    dunnett.comparisons.forEach((row, at) => {
      const ours = result.comparisons?.rows[at];
      expect(ours?.difference).toBeCloseTo(row.difference, 8);
      expect(ours?.lower).toBeCloseTo(row.lower, 6);
      expect(ours?.adjusted).toBeCloseTo(row.adjusted, 6);
    });
  });

  it('says which differ, what the hidden control got, and nothing of the marked cup', () => {
    const result = seen();
    expect(result.comparisons?.rows.map(({ differs }) => differs)).toEqual([false, true]);
    expect(result.finding.headline).toBe('Warm differs from the control.');
    const mean = given.reduce((sum, [hidden = 0]) => sum + hidden, 0) / given.length;
    expect(result.finding.lede).toContain(`The hidden control itself got ${mean.toFixed(2)}`);
    expect(result.finding.lede).toContain('Not shown to differ: Cool.');
    expect(result.samples.map(({ key }) => key)).toEqual(['s0', 's1', 's2']);
    expect(result.figures.n).toBe(48);
    expect(controlResult.parse(structuredClone(result))).toEqual(result);
  });

  it('does not say that its finding stands on another answer than the comparison it gives', () => {
    // Most marks at the low end: pairs of all cups would be by ranks.
    const low = Array.from({ length: 16 }, (_who, at) => [0, at % 5 === 0 ? 1 : 0, 2 + (at % 3)]);
    const { figures, methods } = analyseControl(controlInput(controlPart(2), low));
    expect(figures.trust).not.toBe('means');
    expect(figures.trustReading).not.toMatch(/finding/);
    expect(methods.find(({ id }) => id === 'checks')?.explains).toContain(
      'tells its samples by means in any case',
    );
    expect(methods.find(({ id }) => id === 'verdict')?.explains).toMatch(
      /^The comparison of all cups stands/,
    );
    expect(methods.find(({ id }) => id === 'control-verdict')?.explains).toMatch(/largest difference/);
  });

  it('says of marks below those of the hidden control that something is amiss, also beside a difference', () => {
    const amiss = Array.from({ length: 16 }, (_who, at) => [
      2 + (at % 2),
      (at >> 1) % 2,
      4 + ((at >> 2) % 2),
    ]);
    const both = analyseControl(controlInput(controlPart(2), amiss)).finding;
    expect(both.headline).toBe('Warm differs from the control.');
    expect(both.lede).toContain('Cool got lower marks than the hidden control');
    const alone = analyseControl(
      controlInput(
        controlPart(1),
        amiss.map((row) => row.slice(0, 2)),
      ),
    ).finding;
    expect(alone.headline).toBe(
      'No sample was shown to lie further from the control than its own hidden cup.',
    );
    expect(alone.lede).toContain('something amiss');
  });

  it('with marks missing takes the mixed model', () => {
    const gaps: (number | null)[][] = given.map((row, person) =>
      row.map((value, place) => (person === place ? null : value)),
    );
    const { comparisons, figures } = analyseControl(controlInput(controlPart(2), gaps));
    expect(figures.declined).toBe(3);
    expect(figures.test?.by).toBe('mixed');
    // Two comparisons have one correlation, which always has the form of Dunnett's distribution.
    expect(comparisons?.adjustment).toBe('dunnett');
    expect(comparisons?.rows.every(({ df }) => df < 30)).toBe(true);
    expect(comparisons?.rows[1]?.differs).toBe(true);
  });

  it('takes what everybody says alike as evidence, though it leaves no error variation', () => {
    const alike = Array.from({ length: 10 }, () => [0, 0, 3]);
    const { comparisons, finding, verdict } = analyseControl(controlInput(controlPart(2), alike));
    expect(comparisons).toBeNull();
    // Each of the ten puts the one that differs in one of three places, and there are three such places.
    expect(verdict?.p).toBeLessThanOrEqual(0.001);
    expect(finding.headline).toBe('Warm differs from the control.');
    expect(finding.lede).toContain('adjusted for two samples');
    const few = analyseControl(controlInput(controlPart(2), alike.slice(0, 3))).finding;
    expect(few.headline).toBe('No difference from the control was demonstrated.');
  });

  it('makes no comparison without answers or with one person', () => {
    const none = analyseControl(controlInput(controlPart(2), []));
    expect(none.comparisons).toBeNull();
    expect(none.finding.headline).toBe('Nobody marked the cups, so nothing can be said.');
    const one = analyseControl(controlInput(controlPart(2), [[0, 1, 2]]));
    expect(one.comparisons).toBeNull();
    expect(one.finding.headline).toMatch(/too little for a test/);
  });
});
