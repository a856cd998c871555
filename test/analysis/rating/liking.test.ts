import { analyseLiking } from '@oddglass/shared/analysis/rating/liking.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { likingResult } from '@oddglass/shared/contracts/result-rating.ts';
import { describe, expect, it } from 'vitest';
import { flight, flightInput, flightTray } from '../common/flight-input.ts';
import { noise } from './rating-input.ts';

function liked(means: readonly number[], people: number, kinds: Part['kind'][] = ['liking']) {
  const part = { kind: 'liking' as const, ...flight(means.length) };
  const { normal } = noise(11);
  const trays = Array.from({ length: people }, (_who, person) =>
    flightTray(
      part,
      `p${person}`,
      means.map((_mean, place) => place),
      means.map((mean) => ({
        kind: 'liking',
        value: Math.min(9, Math.max(1, Math.round(mean + 1.2 * normal()))),
      })),
    ),
  );
  return analyseLiking(flightInput(part, trays, { kinds }));
}

describe('liking', () => {
  it('gives means, letters and how the nine points were used', () => {
    const result = liked([6.5, 6.3, 4], 24);
    expect(result.figures.shown).toBe(true);
    expect(result.finding.headline).toBe('These people did not like the samples equally well.');
    expect(result.figures.samples.map(({ letters }) => letters)).toEqual(['a', 'a', 'b']);
    for (const { counts, n } of result.figures.samples) {
      expect(counts.map(({ value }) => value)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
      expect(counts.reduce((sum, { marks }) => sum + marks, 0)).toBe(n);
    }
    expect(likingResult.parse(structuredClone(result))).toEqual(result);
  });

  it('never calls samples equal that were not told apart', () => {
    const { finding, caveats } = liked([5.5, 5.5], 10);
    expect(finding.headline).toBe('No difference in liking was demonstrated.');
    expect(finding.lede).toContain('Not shown does not mean alike.');
    expect(caveats.some(({ text }) => text.startsWith('Not significant'))).toBe(true);
  });

  it('warns where intensity was asked in the same session, and only there', () => {
    const warned = (kinds: Part['kind'][]): boolean =>
      liked([5, 6], 10, kinds).caveats.some(({ text }) => text.startsWith('Liking and intensity'));
    expect(warned(['liking', 'rating'])).toBe(true);
    expect(warned(['triangle', 'liking'])).toBe(false);
  });
});
