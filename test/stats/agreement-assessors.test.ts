import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { agreementWithRest } from '@oddglass/shared/stats/agreement/agreement-with-rest.ts';
import { assessorDiscrimination } from '@oddglass/shared/stats/agreement/assessor-discrimination.ts';
import type { AssessorRating } from '@oddglass/shared/stats/agreement/assessor-ratings.ts';
import { descriptorOverlap } from '@oddglass/shared/stats/agreement/descriptor-overlap.ts';
import { repeatability } from '@oddglass/shared/stats/agreement/repeatability.ts';
import { scaleUse } from '@oddglass/shared/stats/agreement/scale-use.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { expectRelative, expectWithin } from './within.ts';

/** Ratings of assessors by sample by replicate. */
const rows = (panel: Record<string, Record<string, number[]>>): AssessorRating[] =>
  Object.entries(panel).flatMap(([assessor, samples]) =>
    Object.entries(samples).flatMap(([sample, values]) =>
      values.map((value) => ({ assessor, sample, value })),
    ),
  );
const SCALE = { from: 0, to: 10 };

const PANEL = rows({
  ada: { s: [4, 5, 4.5], t: [7, 6], u: [2, 3, 2.5, 4], v: [5] },
  ben: { s: [5], t: [6], u: [4], v: [6, 7] },
});
const by = <T extends { assessor: string }>(list: T[], assessor: string): T => {
  const found = list.find((one) => one.assessor === assessor);
  if (!found) throw new Error(assessor);
  return found;
};

describe('one assessor', () => {
  it('repeatability by hand', () => {
    const { assessors, panelStandardDeviation } = repeatability({ ratings: PANEL });
    // Within: 0.5 + 0.5 + 2.1875 = 3.1875 on 6 df; ben 0.5 on 1.
    const ada = by(assessors, 'ada');
    expectRelative(ada.standardDeviation, Math.sqrt(3.1875 / 6), 1e-14);
    expect(ada.degreesOfFreedom).toBe(6);
    expectRelative(ada.varianceRatio, 3.1875 / 6 / 0.5, 1e-14);
    expectRelative(panelStandardDeviation, Math.sqrt(3.6875 / 7), 1e-14);
  });

  it('without replicates there is no repeatability and no discrimination', () => {
    const ratings = rows({ ada: { s: [4], t: [6] }, ben: { s: [3] } });
    expect(repeatability({ ratings })).toMatchObject({
      panelStandardDeviation: null,
      assessors: [{ standardDeviation: null, varianceRatio: null }, { standardDeviation: null }],
    });
    expect(assessorDiscrimination({ ratings }).assessors).toMatchObject([
      { f: null, p: null, undefinedBecause: 'no replicates' },
      { f: null, undefinedBecause: 'fewer than two samples' },
    ]);
  });

  it('discrimination (SciPy 1.17.1, stats.f_oneway)', () => {
    const ratings = PANEL.filter(({ sample }) => sample !== 'v');
    const ada = by(assessorDiscrimination({ ratings }).assessors, 'ada');
    expectRelative(ada.f, 16.816993464052306, 1e-12);
    expectRelative(ada.p, 0.003469368777385561, 1e-9);
    expect(ada).toMatchObject({ df1: 2, df2: 6, undefinedBecause: null });
  });

  it('who always gives the same has no F; whose samples have one mean has F 0 and p 1', () => {
    const ratings = rows({ ada: { s: [0.1, 0.1, 0.1], t: [0.1, 0.1] }, ben: { s: [1, 3], t: [0, 4] } });
    const { assessors } = assessorDiscrimination({ ratings });
    expect(by(assessors, 'ada')).toMatchObject({
      f: null,
      p: null,
      undefinedBecause: 'replicates never differ',
    });
    expect(by(assessors, 'ben')).toMatchObject({ f: 0, p: 1 });
    expect(by(repeatability({ ratings }).assessors, 'ada').standardDeviation).toBe(0);
  });

  it('agreement with the rest (SciPy 1.17.1, stats.pearsonr)', () => {
    // Ada's means 4.5, 6.5, 2.875, 5 beside ben's 5, 6, 4, 6.5.
    const { assessors } = agreementWithRest({ ratings: PANEL });
    expectRelative(by(assessors, 'ada').correlation, 0.8142198690509737, 1e-12);
    expect(by(assessors, 'ben').samples).toBe(4);
  });

  it('agreement is not defined for few samples, or means that are all the same', () => {
    const few = agreementWithRest({
      ratings: rows({ ada: { s: [1], t: [2], u: [4] }, ben: { s: [1], t: [2] } }),
    });
    expect(few.assessors.map(({ undefinedBecause }) => undefinedBecause)).toEqual([
      'fewer than three samples',
      'fewer than three samples',
    ]);
    const still = agreementWithRest({
      ratings: rows({ ada: { s: [1], t: [2], u: [4] }, ben: { s: [0.1], t: [0.1], u: [0.1] } }),
    });
    expect(still.assessors).toMatchObject([
      { correlation: null, undefinedBecause: 'means of the rest are all the same' },
      { correlation: null, undefinedBecause: 'own means are all the same' },
    ]);
    expect(
      agreementWithRest({ ratings: rows({ ada: { s: [1], t: [2], u: [4] } }) }).assessors[0],
    ).toMatchObject({ samples: 0 });
    expect(agreementWithRest({ ratings: [] }).assessors).toEqual([]);
  });

  it('scale use by hand', () => {
    const ratings = rows({
      ada: { s: [0], t: [4] },
      ben: { s: [5], t: [7] },
      cyd: { s: [7], t: [9], u: [10] },
    });
    const { assessors } = scaleUse({ ratings, scale: SCALE });
    // Ada beside the means 6 and 8; cyd beside 2.5 and 5.5, and u is nobody else's.
    expect(by(assessors, 'ada')).toMatchObject({
      mean: 2,
      lowest: 0,
      highest: 4,
      shareUsed: 0.4,
      shareAtEnds: 0.5,
      shift: -5,
    });
    expectRelative(by(assessors, 'ada').widthRatio, 2, 1e-14);
    expectRelative(by(assessors, 'cyd').shift, 4, 1e-14);
    expectRelative(by(assessors, 'cyd').widthRatio, 2 / 3, 1e-14);
    const alone = scaleUse({ ratings: rows({ ada: { s: [3] } }), scale: SCALE }).assessors[0];
    expect(alone).toMatchObject({ shift: null, widthRatio: null, shareUsed: 0 });
  });

  it('refuses ratings beyond the scale, scales without length, and what is no number', () => {
    const ratings = rows({ ada: { s: [11] } });
    expect(() => scaleUse({ ratings, scale: SCALE })).toThrowError(
      expect.objectContaining({ field: 'value' }),
    );
    expect(() => scaleUse({ ratings: [], scale: { from: 1, to: 1 } })).toThrowError(
      expect.objectContaining({ field: 'scale' }),
    );
    const odd = rows({ ada: { s: [NaN] } });
    for (const f of [repeatability, assessorDiscrimination, agreementWithRest]) {
      expect(() => f({ ratings: odd })).toThrowError(StatsInputError);
    }
  });

  it('nothing minds the order of rows; all but scale use do not mind unit and zero of the scale', () => {
    const row = fc.record({
      assessor: fc.constantFrom('ada', 'ben', 'cyd'),
      sample: fc.constantFrom('s', 't', 'u', 'v'),
      value: fc.integer({ min: 0, max: 10 }),
    });
    fc.assert(
      fc.property(fc.array(row, { maxLength: 40 }), (ratings) => {
        const turned = ratings.toReversed();
        const scaled = ratings.map((one) => ({ ...one, value: 50 + 3 * one.value }));
        const close = (a: number | null | undefined, b: number | null | undefined) => {
          if (a === null || a === undefined) expect(b).toBeNull();
          else expectWithin(b ?? null, a, 1e-9 * Math.max(1, Math.abs(a)));
        };
        for (const other of [turned, scaled]) {
          const apart = assessorDiscrimination({ ratings: other }).assessors;
          for (const { assessor, f, p } of assessorDiscrimination({ ratings }).assessors) {
            close(f, by(apart, assessor).f);
            close(p, by(apart, assessor).p);
          }
          const rest = agreementWithRest({ ratings: other }).assessors;
          for (const { assessor, correlation, undefinedBecause } of agreementWithRest({ ratings })
            .assessors) {
            if (undefinedBecause === by(rest, assessor).undefinedBecause)
              close(correlation, by(rest, assessor).correlation);
          }
          const steady = repeatability({ ratings: other }).assessors;
          for (const { assessor, standardDeviation } of repeatability({ ratings }).assessors) {
            close(
              standardDeviation && standardDeviation * (other === scaled ? 3 : 1),
              by(steady, assessor).standardDeviation,
            );
          }
        }
        const use = scaleUse({ ratings: turned, scale: SCALE }).assessors;
        for (const one of scaleUse({ ratings, scale: SCALE }).assessors) {
          close(one.shift, by(use, one.assessor).shift);
          close(one.mean, by(use, one.assessor).mean);
        }
      }),
    );
  });
});

describe('overlap of descriptor choice', () => {
  const choice = (assessor: string, sample: string, ...descriptors: string[]) => ({
    assessor,
    sample,
    descriptors,
  });

  it('by hand', () => {
    const ours = descriptorOverlap({
      choices: [
        choice('ada', 's', 'apple', 'honey'),
        choice('ben', 's', 'apple', 'honey', 'smoke'),
        choice('ada', 't', 'smoke'),
        choice('ben', 't', 'bread'),
        choice('ada', 'u'),
        choice('ben', 'u'),
        choice('cyd', 's', 'apple'),
      ],
    });
    // ada-ben: s 2/3, t 0, u nothing ticked; ada-cyd 1/2; ben-cyd 1/3.
    expect(ours.pairs.map(({ assessors, samples }) => [...assessors, samples])).toEqual([
      ['ada', 'ben', 2],
      ['ada', 'cyd', 1],
      ['ben', 'cyd', 1],
    ]);
    [1 / 3, 1 / 2, 1 / 3].forEach((wanted, at) =>
      expectRelative(ours.pairs[at]?.overlap ?? null, wanted, 1e-14),
    );
    expectRelative(ours.overlap, (2 / 3 + 0 + 1 / 2 + 1 / 3) / 4, 1e-14);
    expectRelative(by(ours.assessors, 'ada').overlap, (2 / 3 + 0 + 1 / 2) / 3, 1e-14);
    // Across: ada s-ben t 0, ada s-ben u 0, ada t-ben s 1/3, ada t-ben u 0, ada u-ben s 0, ada u-ben t 0,
    // ada t-cyd s 0, ada u-cyd s 0, ben t-cyd s 0, ben u-cyd s 0.
    expectRelative(ours.acrossSamples, 1 / 3 / 10, 1e-14);
  });

  it('nothing to compare is null; the same choices are 1', () => {
    expect(descriptorOverlap({ choices: [] })).toMatchObject({
      overlap: null,
      acrossSamples: null,
      pairs: [],
    });
    expect(descriptorOverlap({ choices: [choice('ada', 's', 'apple')] })).toMatchObject({
      overlap: null,
      assessors: [{ assessor: 'ada', overlap: null }],
    });
    expect(descriptorOverlap({ choices: [choice('ada', 's'), choice('ben', 's')] })).toMatchObject({
      overlap: null,
    });
    expect(
      descriptorOverlap({ choices: [choice('ada', 's', 'a', 'a'), choice('ben', 's', 'a')] }).overlap,
    ).toBe(1);
  });

  it('does not mind the order of choices or descriptors, or their names', () => {
    const table = fc.array(fc.array(fc.subarray(['a', 'b', 'c', 'd']), { minLength: 3, maxLength: 3 }), {
      maxLength: 5,
    });
    fc.assert(
      fc.property(table, (panel) => {
        const choices = panel.flatMap((samples, person) =>
          samples.map((descriptors, at) => choice(`${person}`, `${at}`, ...descriptors)),
        );
        const ours = descriptorOverlap({ choices });
        const other = descriptorOverlap({
          choices: choices
            .toReversed()
            .map((one) => ({ ...one, descriptors: one.descriptors.map((name) => `${name}!`).toReversed() })),
        });
        for (const field of ['overlap', 'acrossSamples'] as const) {
          const value = ours[field];
          if (value === null) expect(other[field]).toBeNull();
          else expectWithin(other[field], value, 1e-12);
        }
      }),
    );
  });

  it('refuses two choices of one assessor for one sample', () => {
    expect(() =>
      descriptorOverlap({ choices: [choice('ada', 's'), choice('ada', 's', 'apple')] }),
    ).toThrowError(StatsInputError);
  });
});
