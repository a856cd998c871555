import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { intraclassCorrelation, type IccForm } from '@oddglass/shared/stats/agreement/icc.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { named, referenceCase } from './reference-case.ts';
import { expectRelative, expectWithin } from './within.ts';

const FORMS: IccForm[] = ['1,1', '2,1', '3,1', '1,k', '2,k', '3,k'];

const TABLE = [
  [61, 64.5, 58],
  [42, 50, 47],
  [55, 51, 52.5],
  [70, 77, 69],
  [33, 41, 28],
  [48, 49, 50],
  [66, 59, 63],
];
// Mean squares and formulae of Shrout & Fleiss in numpy, quantiles by SciPy 1.17.1, stats.f.isf.
const LIMITS: Record<IccForm, [estimate: number, at90: [number, number], at99: [number, number]]> = {
  '1,1': [0.9085253658109, [0.7658853538733, 0.9757726213543], [0.6182079056905, 0.9902019915039]],
  '2,1': [0.9087191348825, [0.7657520824239, 0.9758237486251], [0.6179932197894, 0.9902260297577]],
  '3,1': [0.914530837533, [0.770075242424, 0.9776784680218], [0.6128811184068, 0.9910216972114]],
  '1,k': [0.9675282261827, [0.9075292855667, 0.9917916289084], [0.8292839406847, 0.9967125233519]],
  '2,k': [0.9676014675824, [0.907466904132, 0.9918092348773], [0.8291551444817, 0.9967206416855]],
  '3,k': [0.9697888656086, [0.909483804622, 0.9924470943912], [0.8260735692293, 0.9969892112216]],
};

describe('intraclass correlation', () => {
  const published = referenceCase<
    { rows_are_targets: number[][] },
    {
      mean_squares: { BMS: number; WMS: number; JMS: number; EMS: number };
      icc: Record<IccForm, number>;
      ci95: Record<IccForm, [number, number]>;
      printed: Record<string, number>;
    }
  >('icc-shrout-fleiss');
  it(named(published), () => {
    const { expected, tolerance } = published;
    const ours = intraclassCorrelation({ ratings: published.input.rows_are_targets, level: 0.95 });
    const { BMS, WMS, JMS, EMS } = expected.mean_squares;
    expectWithin(ours.meanSquares.between, BMS, tolerance);
    expectWithin(ours.meanSquares.within, WMS, tolerance);
    expectWithin(ours.meanSquares.assessors, JMS, tolerance);
    expectWithin(ours.meanSquares.residual, EMS, tolerance);
    for (const form of FORMS) {
      const { estimate, lower, upper } = ours.forms[form];
      expectWithin(estimate, expected.icc[form], 1e-11, form);
      expectWithin(lower, expected.ci95[form][0], tolerance, form);
      expectWithin(upper, expected.ci95[form][1], tolerance, form);
      expectWithin(estimate, expected.printed[form.replace('k', '4')] ?? NaN, 0.005, form);
    }
  });

  it.each(FORMS)('(%s) at 90 and 99 per cent (SciPy 1.17.1)', (form) => {
    const [estimate, ...limits] = LIMITS[form];
    [0.9, 0.99].forEach((level, at) => {
      const ours = intraclassCorrelation({ ratings: TABLE, level }).forms[form];
      expectRelative(ours.estimate, estimate, 1e-11);
      expectRelative(ours.lower, limits[at]?.[0] ?? NaN, 1e-9);
      expectRelative(ours.upper, limits[at]?.[1] ?? NaN, 1e-9);
    });
  });

  const edge = referenceCase<
    { rows_are_targets: number[][] }[],
    Partial<Record<IccForm | 'all', number | null>>[]
  >('icc-edge');
  it(named(edge), () => {
    edge.input.forEach(({ rows_are_targets: ratings }, at) => {
      const { forms } = intraclassCorrelation({ ratings, level: 0.95 });
      const wanted = edge.expected[at] ?? {};
      for (const form of FORMS) {
        const value = wanted[form];
        if ('all' in wanted) expect(forms[form]).toEqual({ estimate: null, lower: null, upper: null });
        else if (typeof value === 'number') expectWithin(forms[form].estimate, value, edge.tolerance, form);
      }
    });
  });

  it('no interval where F is not finite or 0', () => {
    const agreed = intraclassCorrelation({
      ratings: [
        [0.1, 0.2],
        [1.1, 1.2],
        [2.1, 2.2],
      ],
      level: 0.95,
    }).forms;
    expectWithin(agreed['3,1'].estimate, 1, 1e-12);
    for (const form of ['3,1', '3,k', '2,1', '2,k'] as const)
      expect(agreed[form]).toMatchObject({ lower: null, upper: null });
    expect(agreed['1,1'].lower).not.toBeNull();
    const crossed = intraclassCorrelation({
      ratings: [
        [1, 3],
        [3, 1],
        [2, 2],
      ],
      level: 0.95,
    }).forms;
    for (const form of FORMS) expect(crossed[form]).toMatchObject({ lower: null, upper: null });
    expect(crossed['1,k'].estimate).toBeNull();
  });

  const tables = fc.tuple(fc.integer({ min: 3, max: 8 }), fc.integer({ min: 2, max: 5 })).chain(([n, k]) =>
    fc.array(fc.array(fc.integer({ min: 0, max: 20 }), { minLength: k, maxLength: k }), {
      minLength: n,
      maxLength: n,
    }),
  );

  it('holds its estimate, and does not mind order of units or assessors, unit and zero of the scale', () => {
    fc.assert(
      fc.property(tables, (ratings) => {
        const ours = intraclassCorrelation({ ratings, level: 0.9 }).forms;
        const others = [
          ratings.map((row) => row.toReversed()).toReversed(),
          ratings.map((row) => row.map((rating) => 1000 - 2.5 * rating)),
        ].map((changed) => intraclassCorrelation({ ratings: changed, level: 0.9 }).forms);
        for (const form of FORMS) {
          const { estimate, lower, upper } = ours[form];
          for (const other of others) {
            if (estimate === null) expect(other[form].estimate).toBeNull();
            else expectWithin(other[form].estimate, estimate, 1e-8 * Math.max(1, Math.abs(estimate)), form);
          }
          if (estimate === null || lower === null || upper === null) continue;
          // Model 2 takes its degrees of freedom from the estimate, and may miss it when that is negative.
          if (!form.startsWith('2')) {
            expect(lower).toBeLessThanOrEqual(estimate);
            expect(upper).toBeGreaterThanOrEqual(estimate);
          }
        }
      }),
    );
  });

  it('consistency does not mind an assessor who is always higher, agreement does', () => {
    const raised = TABLE.map(([a = 0, b = 0, c = 0]) => [a, b + 30, c]);
    const before = intraclassCorrelation({ ratings: TABLE, level: 0.9 }).forms;
    const after = intraclassCorrelation({ ratings: raised, level: 0.9 }).forms;
    expectRelative(after['3,1'].estimate, before['3,1'].estimate ?? NaN, 1e-11);
    expect(after['2,1'].estimate).toBeLessThan((before['2,1'].estimate ?? NaN) - 0.2);
  });

  it.each([
    ['units', [[1, 2]]],
    ['units', []],
    ['assessors', [[1], [2]]],
    ['ratings', [[1, 2], [1]]],
    [
      'ratings',
      [
        [1, 2],
        [1, NaN],
      ],
    ],
  ])('refuses impossible %s', (field, ratings) => {
    const call = () => intraclassCorrelation({ ratings, level: 0.9 });
    expect(call).toThrowError(StatsInputError);
    expect(call).toThrowError(expect.objectContaining({ field }));
  });
});

describe('limits with next to no degrees of freedom', () => {
  // Three samples by twelve assessors whose levels leave Satterthwaite's degrees of freedom at 7e-4: the critical
  // value of F is 6e304, and the limits used to be infinity over infinity.
  const ratings = [
    [46, 2, 56, 81, 63, 28, 88, 12, 41, 2, 26, 84],
    [87, 90, 45, 26, 12, 3, 75, 4, 60, 89, 45, 0],
    [20, 53, 66, 18, 22, 43, 77, 30, 46, 70, 8, 71],
  ];

  it('come to what is left of them when the critical value grows without bound', () => {
    const { forms, meanSquares } = intraclassCorrelation({ ratings, level: 0.95 });
    const { assessors: j, residual: e } = meanSquares;
    // lower = n (b - F e) / (F (k j + (k n - k - n) e) + n b), F without bound.
    const bound = (-3 * e) / (12 * j + (36 - 12 - 3) * e);
    expectRelative(forms['2,1'].lower ?? NaN, bound, 1e-12);
    expectRelative(forms['2,1'].upper ?? NaN, bound, 1e-9);
  });

  it('are never a number that is none, whatever the ratings', () => {
    const level = fc.constantFrom(0.9, 0.95, 0.99);
    const table = fc
      .tuple(fc.integer({ min: 2, max: 4 }), fc.integer({ min: 2, max: 14 }))
      .chain(([units, assessors]) =>
        fc.array(fc.array(fc.integer({ min: 0, max: 100 }), { minLength: assessors, maxLength: assessors }), {
          minLength: units,
          maxLength: units,
        }),
      );
    fc.assert(
      fc.property(table, level, (rows, at) => {
        for (const { estimate, lower, upper } of Object.values(
          intraclassCorrelation({ ratings: rows, level: at }).forms,
        )) {
          for (const value of [estimate, lower, upper])
            expect(value === null || Number.isFinite(value)).toBe(true);
        }
      }),
      { numRuns: 500 },
    );
  });
});
