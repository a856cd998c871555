import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { bestEstimateThreshold } from '@oddglass/shared/stats/threshold/best-estimate.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const read = (row: string) => Array.from(row, (mark) => mark === '1');

describe('best estimate threshold', () => {
  const series = referenceCase<
    { concentrations: number[]; responses_low_to_high: string[] },
    {
      BET: number[];
      log10_BET: number[];
      mean_log10: number;
      sd_log10: number;
      group_BET: number;
      group_gsd: number;
    }
  >('threshold-e679-10x6');
  it(named(series), () => {
    const { input, expected, tolerance } = series;
    const ours = bestEstimateThreshold({
      concentrations: input.concentrations,
      answers: input.responses_low_to_high.map(read),
    });
    ours.assessors.forEach(({ threshold, log10 }, at) => {
      expectWithin(threshold, expected.BET[at] ?? NaN, 3e-9);
      expectWithin(log10, expected.log10_BET[at] ?? NaN, tolerance);
    });
    expectWithin(ours.panel, expected.group_BET, tolerance);
    expectWithin(ours.meanLog10, expected.mean_log10, tolerance);
    expectWithin(ours.sdLog10, expected.sd_log10, tolerance);
    expectWithin(ours.geometricSd, expected.group_gsd, tolerance);
    expect(ours.assessors.map(({ flag }) => flag)).toEqual([
      ...Array<string>(4).fill('within-range'),
      'below-range',
      'above-range',
      ...Array<string>(4).fill('within-range'),
    ]);
    expect(ours).toMatchObject({ n: 10, belowRange: 1, aboveRange: 1, missing: 0 });
    expectRelative(ours.stepFactor.least, 2, 1e-13);
    expectRelative(ours.stepFactor.most, 2, 1e-13);
  });

  it('steps of unequal size: each end takes the step next to it', () => {
    const ours = bestEstimateThreshold({
      concentrations: [1, 2, 8, 80],
      answers: [read('1111'), read('1110'), read('0101')],
    });
    [Math.SQRT1_2, 80 * Math.sqrt(10), Math.sqrt(8 * 80)].forEach((wanted, at) => {
      expectRelative(ours.assessors[at]?.threshold ?? null, wanted, 1e-13);
    });
    expectRelative(ours.stepFactor.most, 10, 1e-13);
  });

  it('an assessor with a missing level has no estimate and is left out of the panel', () => {
    const ours = bestEstimateThreshold({ concentrations: [1, 4], answers: [[null, true], read('01')] });
    expect(ours.assessors[0]).toEqual({ threshold: null, log10: null, flag: 'missing' });
    expect(ours).toMatchObject({ n: 1, missing: 1, sdLog10: null, geometricSd: null });
    expectRelative(ours.panel, 2, 1e-13);
  });

  it('nobody: no panel threshold', () => {
    for (const answers of [[], [[null, null]]]) {
      expect(bestEstimateThreshold({ concentrations: [1, 2], answers })).toMatchObject({ panel: null, n: 0 });
    }
  });

  it('only what follows the last miss counts; units and the order of assessors do not', () => {
    const rows = fc.array(fc.array(fc.boolean(), { minLength: 5, maxLength: 5 }), {
      minLength: 1,
      maxLength: 12,
    });
    fc.assert(
      fc.property(rows, fc.double({ min: 0.001, max: 1000, noNaN: true }), (answers, unit) => {
        const concentrations = [1, 3, 9, 27, 81];
        const ours = bestEstimateThreshold({ concentrations, answers });
        const sure = answers.map((row) => row.map((right, at) => right && at > row.lastIndexOf(false)));
        expect(bestEstimateThreshold({ concentrations, answers: sure }).assessors).toEqual(ours.assessors);
        const scaled = bestEstimateThreshold({
          concentrations: concentrations.map((c) => c * unit),
          answers,
        });
        expectRelative(scaled.panel, (ours.panel ?? NaN) * unit, 1e-12);
        const turned = bestEstimateThreshold({ concentrations, answers: answers.toReversed() });
        expectRelative(turned.panel, ours.panel ?? NaN, 1e-12);
        // One more right answer never raises a threshold.
        const better = answers.map((row) =>
          row.with(row.lastIndexOf(false) === -1 ? 0 : row.lastIndexOf(false), true),
        );
        bestEstimateThreshold({ concentrations, answers: better }).assessors.forEach(({ log10 }, at) => {
          expect(log10).toBeLessThanOrEqual(ours.assessors[at]?.log10 ?? NaN);
        });
      }),
    );
  });

  it.each([
    ['one level', [1], [[true]], 'concentrations'],
    ['levels that fall', [2, 1], [[true, true]], 'concentrations'],
    ['a level of 0', [0, 1], [[true, true]], 'concentrations'],
    ['a level that is no number', [1, NaN], [[true, true]], 'concentrations'],
    ['an answer too few', [1, 2], [[true]], 'answers'],
  ])('refuses %s', (_, concentrations, answers, field) => {
    const call = () => bestEstimateThreshold({ concentrations, answers });
    expect(call).toThrowError(StatsInputError);
    expect(call).toThrowError(expect.objectContaining({ field }));
  });
});
