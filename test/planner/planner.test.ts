import { ethanolOfSession, assessPlan } from '@oddglass/shared/planner/planner.ts';
import { type PlannedArm, type PlannedSettings } from '@oddglass/shared/planner/plan-reading.ts';
import type { DifferencePart, FlightPart, Part } from '@oddglass/shared/contracts/part.ts';
import { sessionSettings } from '@oddglass/shared/contracts/session.ts';
import { incompleteBlockDesign } from '@oddglass/shared/design/incomplete-blocks.ts';
import { precisionOf, smallestFound } from '@oddglass/shared/planner/plan-flight.ts';
import { describe, expect, test } from 'vitest';
import { referenceCase } from '../stats/reference-case.ts';

const id = (at: number) => `00000000-0000-4000-8000-00000000000${at}`;
const arms: PlannedArm[] = ['Cool', 'Warm', 'Hot', 'Wild', 'Still'].map((name, at) => ({
  id: id(at),
  name,
  volumeMl: at === 0 ? 700 : 20_000,
  abv: 4 + at,
}));
const difference = {
  armIds: [id(0), id(1)],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference' as const,
  meaningfulShare: 0.5,
  beta: 0.2,
};
const triangle: DifferencePart = { kind: 'triangle', ...difference };
const pair: DifferencePart = {
  kind: 'directional-pair',
  ...difference,
  attribute: 'sour',
  strongerArmId: null,
};
type Role = 'sample' | 'duplicate' | 'warm-up';
const cup = (at: number, role: Role = 'sample') => ({ armId: id(at), role, spike: null });
const flight = {
  cups: 'own' as const,
  samples: [cup(0), cup(1), cup(2), cup(3)],
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
};
const liking: FlightPart = { kind: 'liking', ...flight };
const ranking: FlightPart = { kind: 'ranking', ...flight, attribute: 'sour' };
const description: FlightPart = { kind: 'description', ...flight, words: null, intensity: false };
const control: FlightPart = {
  kind: 'control',
  ...flight,
  samples: [cup(1), cup(2), cup(3)],
  controlArmId: id(0),
  degrees: ['none', 'slight', 'large'],
};
const rating: FlightPart = {
  kind: 'rating',
  ...flight,
  attributes: [{ id: 'sour', name: 'sour', low: 'none', high: 'very' }],
  scale: 'line',
  by: 'sample',
  returning: true,
};

const settings = (parts: Part[], change: Partial<PlannedSettings> = {}): PlannedSettings => ({
  assessors: 12,
  spareSeats: 2,
  cupMl: 40,
  restSeconds: 60,
  masking: false,
  servingNote: '',
  parts,
  ...change,
});
const read = (parts: Part | Part[], change: Partial<PlannedSettings> = {}) => {
  const given = settings([parts].flat(), change);
  // What is read here can be planned.
  expect(sessionSettings.safeParse({ ...given, title: 'Evening' }).error).toBeUndefined();
  return assessPlan(given, arms);
};
const first = (parts: Part | Part[], change: Partial<PlannedSettings> = {}) => {
  const [part] = read(parts, change).parts;
  if (!part) throw new Error('no part');
  return part;
};
const figure = (parts: Part | Part[], label: RegExp, change: Partial<PlannedSettings> = {}) =>
  first(parts, change).figures.find((one) => label.test(one.label))?.value;

describe('a test of difference', () => {
  const known = referenceCase<unknown, { critical: number; power: number }>('power-triangle-12-0.05-0.5');

  test(`triangle of twelve (${known.source})`, () => {
    const part = first(triangle);
    expect(part).toMatchObject({ part: 1, kind: 'triangle', cupsEach: 3, traysEach: 1 });
    expect(part.difference).toMatchObject({
      answers: 12,
      critical: known.expected.critical,
      mostCorrect: null,
    });
    expect(part.difference?.power).toBeCloseTo(known.expected.power, 10);
    // min-n-triangle-grid: alpha 0.05, beta 0.2, pd 0.5 -> 16 first, 16 stable.
    expect(part.difference?.smallestAssessors).toEqual({ first: 16, stable: 16 });
    expect(part.figures.map(({ value }) => value)).toEqual(['8 of 12', '63 %', '16']);
    expect(part.warnings.join(' ')).toMatch(
      /63 % is below the 80 % you ask for. 16 assessors would reach it/,
    );
  });

  // Critical number and power at 24, alpha 0.05, half discriminators: SciPy 1.17.1, stats.binom.
  test.each<[DifferencePart, number, number]>([
    [{ kind: 'duo-trio', ...difference, reference: 'balanced' }, 17, 0.7662041693168753],
    [{ kind: 'tetrad', ...difference }, 13, 0.9323412209675688],
    [{ kind: 'two-out-of-five', ...difference }, 6, 0.9993164236109555],
    [{ kind: 'three-afc', ...difference, attribute: 'sour', strongerArmId: id(1) }, 13, 0.9323412209675688],
    [{ ...pair, strongerArmId: id(0) } as DifferencePart, 17, 0.7662041693168753],
  ])('$kind has its own chance by guessing', (part, critical, power) => {
    const reading = first(part, { assessors: 24 }).difference;
    expect(reading?.critical).toBe(critical);
    expect(reading?.power).toBeCloseTo(power, 10);
  });

  // SciPy 1.17.1: least c with 2 binom.sf(c - 1, n, 1/2) <= 0.05; power at 0.75, both tails; and their rise.
  test.each([
    [12, 10, 0.3907126188278198],
    [30, 21, 0.8034069187820485],
    [48, 32, 0.9295595533235851],
  ])('a pair of %i without a direction is tested to both sides', (assessors, critical, power) => {
    const part = first(pair, { assessors });
    expect(part.difference?.critical).toBe(critical);
    expect(part.difference?.power).toBeCloseTo(power, 10);
    expect(part.difference?.smallestAssessors).toEqual({ first: 30, stable: 35 });
    expect(part.sayings.join(' ')).toMatch(/for one arm, whichever it is/);
  });

  test('similarity without a direction holds to either side (SciPy 1.17.1, stats.binom)', () => {
    const part: Part = { ...pair, aim: 'similarity', meaningfulShare: 0.3, beta: 0.1 };
    const reading = first(part, { assessors: 60 }).difference;
    expect(reading).toMatchObject({ answers: 60, mostCorrect: 33 });
    expect(reading?.power).toBeCloseTo(0.633705993296709, 10);
    expect(first(part, { assessors: 60 }).sayings[0]).toMatch(
      /At most 33 of 60 answers for either arm support/,
    );
    // With 20 the limit would lie below an even split: nothing could be shown.
    expect(first(part, { assessors: 20 }).difference).toMatchObject({ mostCorrect: null, power: 0 });
  });

  test('a panel too small for any significant result is told so', () => {
    for (const part of [triangle, pair]) {
      expect(first(part, { assessors: 2 }).difference?.critical).toBeNull();
      expect(first(part, { assessors: 2 }).sayings.join(' ')).toMatch(/can show nothing/);
      expect(first(part, { assessors: 2 }).figures[0]?.value).toBe('none');
    }
    expect(first({ ...triangle, aim: 'similarity', beta: 0.05 }, { assessors: 1 }).sayings.join(' ')).toMatch(
      /can show nothing/,
    );
  });

  test('replicates are not counted as people', () => {
    const four = first({ ...triangle, replicates: 4 }, { cupMl: 5 }).difference;
    expect(four?.answers).toBe(48);
    // Persons differing as far as they can, beside trays of one palate taken as independent.
    expect(four?.power).toBeLessThan(four?.powerIfIndependent ?? 0);
    expect(first({ ...triangle, replicates: 4, aim: 'similarity', beta: 0.05 }).difference?.answers).toBe(12);
  });
});

test('a preference is read to both sides, for a split of 65 to 35 (SciPy 1.17.1, stats.binom)', () => {
  const part: Part = { kind: 'preference', armIds: [id(0), id(1)], alpha: 0.05, noPreference: true };
  // 0.35764 and 0.46994.
  expect(first(part, { assessors: 30 }).figures.map(({ value }) => value)).toEqual(['21 of 30', '36 %']);
  expect(first(part, { assessors: 48 }).figures.map(({ value }) => value)).toEqual(['32 of 48', '47 %']);
  expect(first(part).difference).toBeNull();
  expect(first(part).sayings.join(' ')).toMatch(/'no preference' is counted apart/);
  expect(first(part, { assessors: 3 }).sayings.join(' ')).toMatch(/can show nothing/);
});

describe('a flight', () => {
  // Noncentral t with the studentized range's critical value (SciPy 1.17.1: nct, studentized_range), 80 % power.
  test.each([
    [2, 16, 15, 1.0599056],
    [4, 12, 33, 1.457872],
    [8, 12, 77, 1.6221031],
    [6, 24, 115, 1.0821998],
    [4, 6, 15, 2.1839969],
  ])(
    'of %i samples by %i: the smallest difference is that of the noncentral t to 2 %',
    (samples, flights, df, exact) => {
      const found = smallestFound({ samples, flights, df }, { alpha: 0.05, control: false });
      expect(Math.abs((found ?? 0) / exact - 1)).toBeLessThan(0.02);
    },
  );

  test('against a control takes the critical value of Dunnett', () => {
    // Three comparisons, 20 df: 2.5403496099 (dunnett.test.ts); the noncentral t as above gives 1.3939814.
    const found = smallestFound({ samples: 4, flights: 12, df: 20 }, { alpha: 0.05, control: true });
    expect(Math.abs((found ?? 0) / 1.3939814 - 1)).toBeLessThan(0.02);
    expect(smallestFound({ samples: 4, flights: 12, df: 0 }, { alpha: 0.05, control: true })).toBeNull();
  });

  test('says how often each cup is tasted and compared, and what is found', () => {
    const part = first(rating);
    expect(part).toMatchObject({ cupsEach: 4, traysEach: 1, difference: null, warnings: [] });
    expect(part.figures.map(({ value }) => value)).toEqual(['12', '12', '1.45']);
    expect(part.sayings[0]).toMatch(
      /differ by 1.45 residual SD in an attribute are told apart 80 times in 100/,
    );
    expect(figure(control, /residual SD/)).toBe('1.35');
    expect(first(control).cupsEach).toBe(5);
    expect(first(rating, { assessors: 1 }).sayings[0]).toMatch(/Too few answers/);
  });

  test('hidden duplicates are cups, and not samples to compare', () => {
    const twice = { ...rating, samples: [...rating.samples, cup(0, 'duplicate'), cup(1, 'duplicate')] };
    expect(precisionOf([twice], 0, 12)).toEqual({
      samples: 4,
      cups: 6,
      served: 6,
      people: 12,
      evaluations: 12,
      together: 12,
      flights: 12,
      df: 33,
    });
    expect(first(twice).sayings.join(' ')).toMatch(/never served side by side/);
  });

  test('in incomplete blocks is worth what the efficiency of the design says', () => {
    for (const [samples, cupsEach] of [
      [4, 3],
      [5, 2],
      [5, 3],
    ] as const) {
      const part = { ...liking, cupsEach, samples: [0, 1, 2, 3, 4].slice(0, samples).map((at) => cup(at)) };
      const {
        blocks,
        timesServed: r,
        timesTogether: lambda,
      } = incompleteBlockDesign({
        samples,
        perBlock: cupsEach,
      });
      const n = blocks.length;
      const precision = precisionOf([part], 0, n);
      expect(precision.evaluations).toBeCloseTo(r, 10);
      expect(precision.together).toBeCloseTo(lambda, 10);
      // Variance of a difference: 2 s^2 / (r E), E = lambda v / (r k); of whole flights 2 s^2 / n.
      expect(precision.flights).toBeCloseTo((lambda * samples) / cupsEach, 10);
      // Cups less blocks less samples, and one.
      expect(precision.df).toBe(n * cupsEach - n - samples + 1);
    }
    expect(first({ ...liking, cupsEach: 3 }).sayings.join(' ')).toMatch(
      /3 of 4 cups: two samples are compared as if by 8 of 12 complete flights \(efficiency 89 % for each cup served\)/,
    );
  });

  test('on the cups of a test before it counts those', () => {
    const parts: Part[] = [triangle, { ...description, cups: 'before', samples: [] }];
    const [, second] = read(parts).parts;
    expect(second).toMatchObject({ part: 2, cupsEach: 0, traysEach: 0 });
    // Two cups of one arm and one of the other: 1 / (1/2 + 1) of a comparison where one of each is 1 / 2.
    expect(precisionOf(parts, 1, 12)).toMatchObject({ evaluations: 18, together: 12, flights: 16, df: 11 });
    expect(second?.sayings.join(' ')).toMatch(/on the cups of the test before/);
    expect(read(parts)).toMatchObject({ cupsEach: 3, traysEach: 1 });
  });

  test('of checked words: how many must tell two samples apart (McNemar, by counting)', () => {
    // 2 / 2^6 = 0.031 is the first below 0.05; 2 / 2^8 the first below 0.01.
    expect(figure(description, /fewest who/)).toBe('6 of 12');
    expect(figure({ ...description, alpha: 0.01 }, /fewest who/)).toBe('8 of 12');
    expect(figure(description, /fewest who/, { assessors: 5 })).toBe('none');
    // A second tray gives nobody a second say: the first cup of a sample counts.
    expect(figure({ ...description, replicates: 2 }, /fewest who/)).toBe('6 of 12');
    expect(figure({ ...description, replicates: 2 }, /fewest who/, { assessors: 5 })).toBe('none');
    // Six of twelve by Wilson: 0.2538 to 0.7462 (proportion-interval.test.ts checks the formula).
    expect(figure(description, /near one half/)).toBe('25 % to 75 %');
  });

  test('ranked: how far rank sums must lie apart (Nemenyi 1963)', () => {
    // q(0.05; 4) / sqrt 2 = 2.569032 (SciPy 1.17.1, studentized_range), times sqrt(12 * 4 * 5 / 6) = 6.324555: 16.25.
    expect(figure(ranking, /rank sums/)).toBe('17 of at most 36');
    // 2.569032 sqrt(3 * 4 * 5 / 6) = 8.12 of 9, and of two people 6.63 of 6.
    expect(figure(ranking, /rank sums/, { assessors: 3 })).toBe('9 of at most 9');
    expect(figure(ranking, /rank sums/, { assessors: 2 })).toBe('none');
    // Everybody counts once, however many trays and hidden duplicates: the analysis takes mean ranks.
    expect(figure({ ...ranking, replicates: 2 }, /rank sums/)).toBe('17 of at most 36');
    const doubled = { ...ranking, samples: [...flight.samples, cup(0, 'duplicate')] };
    expect(figure(doubled, /rank sums/)).toBe('17 of at most 36');
  });

  test('that tires, or whose duplicates cannot be kept apart, is warned of', () => {
    const many = {
      ...liking,
      samples: Array.from({ length: 9 }, (_, at) => ({ ...cup(at % 5, 'sample'), armId: id(at) })),
    };
    expect(first(many).warnings.join(' ')).toMatch(/9 cups in one flight/);
    expect(first({ ...many, cupsEach: 6 }).warnings).toEqual([]);
    expect(first({ ...liking, samples: [cup(0), cup(0, 'duplicate')] }).warnings.join(' ')).toMatch(
      /2 of 2 cups are the same/,
    );
    expect(
      first({ ...liking, cupsEach: 2, samples: [...flight.samples, cup(0, 'duplicate')] }).warnings.join(' '),
    ).toMatch(/serve 3 or more/);
  });
});

describe('the evening', () => {
  test('adds up liquid by arm over all parts, and says what is short', () => {
    const { liquid, warnings } = read(triangle);
    expect(liquid.map(({ name, cups, needMl, enough }) => ({ name, cups, needMl, enough }))).toEqual([
      { name: 'Cool', cups: 18, needMl: 720, enough: false },
      { name: 'Warm', cups: 18, needMl: 720, enough: true },
    ]);
    expect(warnings.join(' ')).toMatch(/Cool: the plan needs 720 mL, 700 mL are left/);
    const all = read([triangle, { ...description, cups: 'before', samples: [] }, control, ranking]).liquid;
    // Cool: 18 of the triangle, a marked and a hidden control each, and its cup to rank. Warm: 18, one, one.
    expect(all.map(({ name, cups }) => [name, cups])).toEqual([
      ['Cool', 18 + 24 + 12],
      ['Warm', 18 + 12 + 12],
      ['Hot', 24],
      ['Wild', 24],
    ]);
    // Two spare seats: at most two more cups of each in a triangle's tray, two and one in the flights.
    expect(all[0]?.spareMl).toBe((4 + 4 + 2) * 40);
  });

  test('a spiked sample is poured from its arm, and spare seats are asked for apart', () => {
    const spiked: Part = {
      ...ranking,
      samples: [
        cup(1),
        { armId: id(1), role: 'spiked', spike: 'vanillin 2 mg/L', spikeAbv: 'none' },
        cup(4, 'warm-up'),
      ],
    };
    const { liquid, parts } = read(spiked);
    expect(liquid.map(({ name, cups }) => [name, cups])).toEqual([
      ['Warm', 24],
      ['Still', 12],
    ]);
    // Another liquid: it may stand beside its arm.
    expect(parts[0]?.warnings).toEqual([]);
    const short = assessPlan(
      settings([ranking]),
      arms.map((arm) => ({ ...arm, volumeMl: 500 })),
    );
    expect(short.liquid.every(({ enough }) => enough)).toBe(true);
    expect(short.warnings.join(' ')).toMatch(/Not every spare seat/);
  });

  test('tells the ethanol at most: 3 cups of 40 mL at 5 % hold 4.7 g; unknown stays unknown', () => {
    // 120 mL x 5 % x 0.789 g/mL, density of ethanol at 20 °C as in the reference case ethanol-grams.
    expect(read(triangle).ethanolGrams).toBeCloseTo(4.734, 10);
    const unknown = arms.map((arm, at) => (at === 1 ? { ...arm, abv: null } : arm));
    expect(ethanolOfSession(settings([triangle]), unknown)).toBeNull();
    // Only arms that are poured count.
    expect(ethanolOfSession(settings([{ ...ranking, samples: [cup(0), cup(2)] }]), unknown)).toBeCloseTo(
      80 * 0.06 * 0.789,
      10,
    );
    expect(assessPlan(settings([triangle]), unknown).warnings.join(' ')).toMatch(
      /alcohol of an arm is unknown/,
    );
    const silent: Part = {
      ...rating,
      samples: [cup(1), { armId: id(1), role: 'spiked', spike: 'rum, 10 mL per litre' }],
    };
    expect(read(silent).ethanolGrams).toBeNull();
    expect(read(silent).warnings.join(' ')).toMatch(/alcohol of a spiked sample is unknown/);
    // Told above 12 g, warned of above 24 g, in drinks of each country; below, nothing.
    expect(read(triangle, { cupMl: 60 }).warnings.join(' ')).not.toMatch(/ethanol/);
    expect(read([{ ...triangle, replicates: 3 }], { cupMl: 40 }).warnings.join(' ')).toMatch(
      /Up to 14\.2 g of ethanol each if all is swallowed: 1\.4 drinks of 10 g .* Say so beforehand and offer spit cups/,
    );
    expect(read([triangle, { ...triangle, replicates: 4 }], { cupMl: 60 }).warnings.join(' ')).toMatch(
      /Up to 35.5 g of ethanol each/,
    );
  });

  test('cups and rest are those of a palate that tires', () => {
    const said = (parts: Part[], change = {}): string => read(parts, change).warnings.join(' ');
    expect(said([triangle])).not.toMatch(/tire|of rest/);
    expect(said([triangle, { ...triangle, replicates: 4 }])).toMatch(
      /15 cups each in one evening tire a palate: 12 or fewer are usual/,
    );
    expect(said([{ ...triangle, replicates: 2 }])).toMatch(/60 s of rest between trays are few/);
    expect(said([{ ...triangle, replicates: 2 }], { restSeconds: 90 })).not.toMatch(/of rest/);
  });

  test('warns of liking beside anything else, with the reason', () => {
    const warned = (parts: Part[]) =>
      read(parts).warnings.some((warning) => /session of its own/.test(warning));
    const preference: Part = { kind: 'preference', armIds: [id(0), id(1)], alpha: 0.05, noPreference: false };
    expect(warned([liking, rating])).toBe(true);
    expect(warned([ranking, preference])).toBe(true);
    expect(warned([triangle, liking])).toBe(true);
    expect(warned([liking, preference])).toBe(false);
    expect(warned([triangle, rating, control])).toBe(false);
    expect(read([triangle, rating]).sayings).toEqual([
      '2 parts are asked in this order, 7 cups each in all, with 60 seconds of rest between trays. ' +
        'Later parts find a palate that is no longer fresh.',
    ]);
    expect(read(triangle).sayings).toEqual([]);
  });

  test('never says what no plan can promise', () => {
    const all = [
      triangle,
      { ...triangle, aim: 'similarity' as const, beta: 0.05 },
      pair,
      rating,
      description,
      control,
      liking,
      ranking,
    ];
    for (const part of all) {
      const { sayings, warnings, figures } = first(part);
      const text = [...sayings, ...warnings, ...figures.map(({ note }) => note)].join(' ');
      expect(text).not.toMatch(
        /proved|no difference\b(?! was)|trend|almost significant|NaN|undefined|Infinity/i,
      );
    }
  });
});
