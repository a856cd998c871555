import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { plainWord } from '@oddglass/shared/analysis/description/beside.ts';
import { profileVerdict } from '@oddglass/shared/analysis/description/map.ts';
import { levelOfGate } from '@oddglass/shared/analysis/description/gates.ts';
import type { DescriptionPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { descriptionResult, type DescriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { fastRandom } from '@oddglass/shared/ground/fast-random.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { named, referenceCase } from '../../stats/reference-case.ts';
import { expectWithin } from '../../stats/within.ts';
import { panel, part, says, WORDS } from './description-input.ts';
import { ARM_NAMES, armId, flightInput, flightTray } from '../common/flight-input.ts';

const read = (asked: DescriptionPart, trays: ReturnType<typeof panel>) =>
  analyseDescription(flightInput(asked, trays, { words: WORDS }));
const wordOf = (result: DescriptionResult, id: string) => {
  const found = result.words.find((word) => word.id === id);
  if (!found) throw new Error(`nobody checked ${id}`);
  return found;
};

describe('published and computed examples, from served trays to the document', () => {
  const cochran = referenceCase<
    { rows_are_assessors: number[][] },
    {
      column_totals: number[];
      Q: number;
      df: number;
      p_exact_permutation: number;
      b_only_first: number[];
      c_only_second: number[];
      mcnemar_exact_p: number[];
      holm_p: number[];
    }
  >('cochran-q-10x3');

  test(named(cochran), () => {
    const { expected, input, tolerance } = cochran;
    // At 0.1, of which single words have half: adjusted for two words, p is 0.03.
    const asked = part(3, { words: ['smoky', 'sour'], alpha: 0.1 });
    const result = read(
      asked,
      panel(
        asked,
        input.rows_are_assessors.map((row) => row.map((value) => (value === 1 ? ['smoky'] : []))),
      ),
    );
    const smoky = wordOf(result, 'smoky');
    expect(smoky.shares.map(({ checked }) => checked)).toEqual(expected.column_totals);
    expect(smoky.shares.every(({ asked: people }) => people === 10)).toBe(true);
    expectWithin(smoky.test?.q ?? NaN, expected.Q, tolerance, 'Q');
    expect(smoky.test?.df).toBe(expected.df);
    expect(smoky.test?.route).toBe('exact');
    expectWithin(smoky.test?.p ?? NaN, expected.p_exact_permutation, tolerance, 'p');
    // Two words were offered, and nobody checked the other.
    expectWithin(smoky.test?.pAdjusted ?? NaN, 2 * expected.p_exact_permutation, tolerance, 'adjusted p');
    expect(result.unchecked).toEqual(['sour']);
    expect(smoky.pairs.map(({ onlyFirst }) => onlyFirst)).toEqual(expected.b_only_first);
    expect(smoky.pairs.map(({ onlySecond }) => onlySecond)).toEqual(expected.c_only_second);
    smoky.pairs.forEach(({ p, pAdjusted }, index) => {
      expectWithin(p, expected.mcnemar_exact_p[index] ?? NaN, tolerance, 'pair');
      expectWithin(pAdjusted, expected.holm_p[index] ?? NaN, tolerance, 'pair, Holm');
    });
  });

  test('single words and all words together share alpha: each has half, and the whole once the other holds', () => {
    expect([null, 0.025, 0.0251, 1].map((p) => levelOfGate([p], 0.05))).toEqual([0.05, 0.05, 0.025, 0.025]);
    const profile = {
      p: 0.04,
      chiSquare: 9,
      permutations: 999,
      assessors: 9,
      informative: 9,
      shown: false,
      words: 7,
      reading: '',
    };
    const at = (p: number, least: number | null) => profileVerdict({ ...profile, p }, [least], 0.05);
    expect(at(0.04, 0.5)).toMatchObject({ shown: false });
    expect(at(0.04, 0.5).reading).toContain('(p = 0.040, alpha 0.025, half of 0.05)');
    expect([at(0.025, 0.5), at(0.04, 0.025), at(0.04, null)].map(({ shown }) => shown)).toEqual([
      true,
      true,
      true,
    ]);
    expect(at(0.04, 0.025).reading).toContain(
      'differ in how they were described (p = 0.040, alpha fixed beforehand at 0.05)',
    );
  });

  test('a sample that hardly anybody answered leaves the tests of words, not everybody else', () => {
    const asked = part(3, { words: ['smoky', 'sour'] });
    const rows = Array.from({ length: 12 }, (_who, at) => [['smoky'], [], at === 0 ? ['sour'] : null]);
    const result = read(asked, panel(asked, rows));
    expect(result.family).toMatchObject({ assessors: 12, leftOut: 0, leftOutSamples: [ARM_NAMES[2]] });
    expect(result.family.reading).toContain(`Fewer than half of the people answered for ${ARM_NAMES[2]}`);
    const smoky = wordOf(result, 'smoky');
    expect(smoky.test).toMatchObject({ df: 1, differs: true });
    // Two samples, twelve people: the exact McNemar test of 12 against 0, adjusted for the two words offered.
    expect(smoky.test?.pAdjusted).toBeCloseTo(2 * 2 ** -11, 12);
    expect(smoky.shares).toHaveLength(3);
  });

  test('cochran-q-edge: two samples are the exact McNemar test; a word everybody or nobody checks says nothing', () => {
    const [alike, two] = referenceCase<
      { rows_are_assessors: number[][] }[],
      { Q: number | null; mcnemar_exact_p?: number }[]
    >('cochran-q-edge').input;
    const rowsOf = (rows: number[][] | undefined) =>
      (rows ?? []).map((row) => row.map((value) => (value === 1 ? ['smoky'] : [])));
    const same = part(3);
    const smoky = wordOf(read(same, panel(same, rowsOf(alike?.rows_are_assessors))), 'smoky');
    expect(smoky.test).toMatchObject({ q: null, p: 1, informative: 0, differs: false });
    const pair = part(2);
    const second = wordOf(read(pair, panel(pair, rowsOf(two?.rows_are_assessors))), 'smoky');
    expectWithin(second.test?.q ?? NaN, 1, 1e-9, 'Q');
    expectWithin(second.test?.p ?? NaN, 0.625, 1e-9, 'p');
  });

  const smoke = referenceCase<
    { table: number[][] },
    {
      principal_inertias: number[];
      percent: number[];
      total_inertia: number;
      row_principal_dim1_2: number[][];
    }
  >('ca-smoke');

  test(named(smoke), () => {
    const { expected, input, tolerance } = smoke;
    const ids = ['smoky', 'sour', 'honey', 'apple'];
    const asked = part(5, { words: ids });
    // The first n people check a word for a sample, n its count in the table.
    const rows = Array.from({ length: 33 }, (_unused, person) =>
      input.table.map((counts) => ids.filter((_id, word) => person < (counts[word] ?? 0))),
    );
    const { map } = read(asked, panel(asked, rows));
    expect(map?.drawn).toBe('plane');
    expected.principal_inertias.forEach((inertia, axis) => {
      expectWithin(map?.axes[axis]?.inertia ?? NaN, inertia, tolerance, 'inertia');
      expectWithin(100 * (map?.axes[axis]?.share ?? NaN), expected.percent[axis] ?? NaN, 1e-4, 'percent');
    });
    expectWithin(map?.totalInertia ?? NaN, expected.total_inertia, tolerance, 'total inertia');
    expected.row_principal_dim1_2.forEach((point, row) =>
      point.forEach((value, axis) =>
        // The sign of an axis is arbitrary.
        expectWithin(
          Math.abs(map?.samples[row]?.coordinates[axis] ?? NaN),
          Math.abs(value),
          1e-6,
          'coordinate',
        ),
      ),
    );
    expect(map?.ellipses).toHaveLength(5);
    expect(map?.resamples).toBe(500);
  });

  test('liking goes down with a word as in the worked example of penaltyLift', () => {
    const asked = part(2);
    const rows = [0, 1, 2].map(() => [['smoky'], []]);
    const marks = [
      [7, 5],
      [6, 5],
      [8, 4],
    ].flatMap(([first = 0, second = 0], person) => [
      { assessor: `person 00${person}`, replicate: 1, code: '101', value: first },
      { assessor: `person 00${person}`, replicate: 1, code: '102', value: second },
    ]);
    const result = analyseDescription(flightInput(asked, panel(asked, rows), { words: WORDS }), marks);
    expect(descriptionResult.safeParse(result).error).toBeUndefined();
    const row = result.liking?.rows[0];
    expect(row).toMatchObject({ word: 'smoky', chosen: 3, notChosen: 3, meanChosen: 7 });
    expectWithin(row?.lift.p ?? NaN, 0.118082896312, 1e-10, 'p of the lift');
    expect(result.caveats.some(({ text }) => text.startsWith('Liking was asked'))).toBe(true);
  });
});

describe('an invented panel whose truth is known', () => {
  const chance = fastRandom(seededRandom(new Uint8Array(32).fill(11)));
  const happens = (share: number): boolean => chance(1000) < 1000 * share;
  // Smoky belongs to the third sample, sour to the first; honey goes everywhere alike, and clove is rare.
  const truth: Record<string, number[]> = {
    smoky: [0.1, 0.2, 0.8],
    sour: [0.9, 0.3, 0.2],
    honey: [0.5, 0.5, 0.5],
    clove: [0.02, 0.02, 0.02],
  };
  const asked = part(3, { words: ['smoky', 'sour', 'honey', 'clove', 'apple', 'bread'] });
  const rows = Array.from({ length: 24 }, () =>
    [0, 1, 2].map((sample) => Object.keys(truth).filter((word) => happens(truth[word]?.[sample] ?? 0))),
  );
  const result = read(asked, panel(asked, rows));

  test('the two words that differ are found, the one that does not is not', () => {
    expect(wordOf(result, 'smoky').test?.differs).toBe(true);
    expect(wordOf(result, 'sour').test?.differs).toBe(true);
    expect(wordOf(result, 'honey').test?.differs).toBe(false);
    expect(result.family).toMatchObject({ tests: 6, assessors: 24, leftOut: 0, differ: 2 });
    expect(
      result.words
        .slice(0, 2)
        .map(({ id }) => id)
        .sort(),
    ).toEqual(['smoky', 'sour']);
    expect(result.profile?.p ?? 1).toBeLessThan(0.01);
    expect(result.finding.headline).toMatch(/smoky/i);
    expect(result.finding.headline).toMatch(/sour/i);
    expect(result.finding.lede).toContain('Exploratory: 6 words were looked at.');
  });

  test('the pairs name the sample that stands out', () => {
    const pairs = wordOf(result, 'smoky').pairs;
    expect(pairs).toHaveLength(3);
    const [oneTwo, oneThree] = pairs;
    expect(oneThree?.pAdjusted ?? 1).toBeLessThan(0.01);
    expect(oneTwo?.pAdjusted ?? 0).toBeGreaterThan(0.05);
  });

  test('the map puts smoky on the side of its sample and leaves the rare word off', () => {
    const { map } = result;
    const at = (points: { key: string; coordinates: number[] }[] | undefined, key: string) =>
      points?.find((point) => point.key === key)?.coordinates[0] ?? NaN;
    expect(at(map?.words, 'smoky') * at(map?.samples, 's3')).toBeGreaterThan(0);
    expect(at(map?.words, 'smoky') * at(map?.words, 'sour')).toBeLessThan(0);
    expect(map?.words.some(({ key }) => key === 'clove')).toBe(false);
    expect(map?.threshold).toBe(4);
  });

  test('shares hold the truth within their intervals for most cells', () => {
    const cells = Object.entries(truth)
      .filter(([id]) => result.words.some((word) => word.id === id))
      .flatMap(([id, shares]) =>
        wordOf(result, id).shares.map(({ lower, upper }, sample) => {
          const share = shares[sample] ?? 0;
          return lower <= share && share <= upper;
        }),
      );
    expect(cells.filter(Boolean).length / cells.length).toBeGreaterThan(0.8);
  });
});

describe('panels as they are', () => {
  const HIDDEN: SampleInput = { armId: armId(0), role: 'duplicate', spike: null };
  const WARM_UP: SampleInput = { armId: armId(2), role: 'warm-up', spike: null };

  test('nobody', () => {
    const result = read(part(3), []);
    expect(descriptionResult.safeParse(result).error).toBeUndefined();
    expect(result.finding.headline).toBe('Nobody answered, so nothing can be said.');
    expect(result).toMatchObject({ profile: null, map: null, words: [], liking: null });
    expect(result.unchecked).toEqual(['smoky', 'sour', 'honey']);
  });

  test('one assessor gets shares and no test', () => {
    const asked = part(3);
    const result = read(asked, panel(asked, [[['smoky'], [], ['smoky', 'sour']]]));
    expect(wordOf(result, 'smoky').shares.map(({ checked }) => checked)).toEqual([1, 0, 1]);
    expect(result.words.every((word) => word.test === null)).toBe(true);
    expect(result.profile).toBeNull();
    expect(result.finding.lede).toContain('no test');
  });

  test('everybody says none of these', () => {
    const asked = part(2);
    const result = read(
      asked,
      panel(asked, [
        [[], []],
        [[], []],
      ]),
    );
    expect(result.samples.map(({ none }) => none)).toEqual([2, 2]);
    expect(result.finding.headline).toContain('no word of the list was checked');
    expect(result.caveats.some(({ text }) => text.includes('4 of 4'))).toBe(true);
  });

  test('missing sheets leave a person in the shares and out of the tests', () => {
    const asked = part(3);
    const rows = [
      [['smoky'], [], []],
      [['smoky'], [], []],
      [['smoky'], [], []],
      [['smoky'], null, []],
    ];
    const result = read(asked, panel(asked, rows));
    expect(result.served).toEqual({ seated: 4, assessors: 4, answers: 11, unanswered: 1 });
    expect(wordOf(result, 'smoky').shares.map(({ asked: people }) => people)).toEqual([4, 3, 4]);
    expect(result.family).toMatchObject({ assessors: 3, leftOut: 1 });
    // Three people put it to the first sample of three: 1/9 by chance.
    expectWithin(wordOf(result, 'smoky').test?.p ?? NaN, 1 / 9, 1e-12, 'p');
    expect(result.caveats.some(({ text }) => text.startsWith('One person has no answer'))).toBe(true);
  });

  test('a hidden duplicate counts by the first cup served, and both are compared', () => {
    const asked = part(2, { intensity: true }, [HIDDEN]);
    const cup = (place: number) => place;
    // The duplicate (place 2) comes first for one person and last for the other.
    const trays = [
      flightTray(asked, 'a', [2, 1, 0].map(cup), [
        says(['sour'], [], 3),
        says([]),
        says(['smoky', 'sour'], [], 1),
      ]),
      flightTray(asked, 'b', [0, 1, 2].map(cup), [says(['smoky'], [], 2), says([]), says(['honey'], [], 1)]),
    ];
    const result = read(asked, trays);
    expect(result.samples.map(({ name }) => name)).toEqual(['Cool', 'Warm']);
    expect(wordOf(result, 'smoky').shares[0]).toMatchObject({
      checked: 1,
      asked: 2,
      intensity: { mean: 2, of: 1 },
    });
    expect(wordOf(result, 'sour').shares[0]).toMatchObject({
      checked: 1,
      asked: 2,
      intensity: { mean: 3, of: 1 },
    });
    expect(result.duplicates).toEqual([
      // a: sour again, smoky once; b: smoky and honey once each. Overlap (1/2 + 0) / 2.
      { sample: 's1', name: 'Cool', people: 2, both: 1, onlyOne: 3, overlap: 0.25 },
    ]);
    expect(result.methods.some(({ id }) => id === 'duplicates')).toBe(true);
  });

  test('on the cups of a triangle the first cup of the doubled arm counts, on those of a control the marked cup is none', () => {
    const asked = part(2, { cups: 'before' });
    const triangle = [
      flightTray(asked, 'a', [0, 0, 1], [says(['smoky']), says(['honey']), says(['sour'])]),
      flightTray(asked, 'b', [1, 0, 1], [says(['sour']), says(['smoky']), says([])]),
    ];
    const result = read(asked, triangle);
    expect(result.samples.map(({ answers }) => answers)).toEqual([2, 2]);
    expect(wordOf(result, 'smoky').shares.map(({ checked }) => checked)).toEqual([2, 0]);
    expect(result.words.map(({ id }) => id).sort()).toEqual(['smoky', 'sour']);
    expect(result.duplicates.map(({ people }) => people)).toEqual([1, 1]);

    const control = part(3, { cups: 'before' });
    const trays = ['a', 'b'].map((assessor) => {
      const tray = flightTray(control, assessor, [2, 0, 1], [null, says(['smoky']), says(['sour'])]);
      const cups = tray.cups.map((cup) => (cup.position === 1 ? { ...cup, mark: 'control' as const } : cup));
      return { ...tray, cups, sheets: tray.sheets.slice(1) };
    });
    const beside = read(control, trays);
    expect(beside.samples.map(({ name }) => name)).toEqual(['Cool', 'Warm']);
    expect(beside.family).toMatchObject({ assessors: 2, leftOut: 0 });
  });

  test('a warm-up is in no figure', () => {
    const asked = part(2, {}, [WARM_UP]);
    const trays = panel(asked, [
      [['smoky'], [], ['honey']],
      [['smoky'], [], ['honey']],
    ]);
    const result = read(asked, trays);
    expect(result.warmUps).toEqual(['Wild (warm-up)']);
    expect(result.samples).toHaveLength(2);
    expect(result.words.map(({ id }) => id)).toEqual(['smoky']);
    expect(result.unchecked).toContain('honey');
  });

  test('incomplete blocks give shares, the test of all words, and no test of single ones', () => {
    const asked = part(3, { cupsEach: 2 });
    const pairs = [
      [0, 1],
      [1, 2],
      [2, 0],
    ];
    const trays = Array.from({ length: 12 }, (_unused, person) => {
      const served = pairs[person % 3] ?? [];
      return flightTray(
        asked,
        `person ${person}`,
        served,
        served.map((place) => says(place === 0 ? ['smoky'] : ['sour'])),
      );
    });
    const result = read(asked, trays);
    expect(wordOf(result, 'smoky')).toMatchObject({ test: null, checked: 8 });
    expect(result.profile?.p ?? 1).toBeLessThan(0.05);
    expect(
      result.caveats.some(({ text }) =>
        text.startsWith('Nobody, or hardly anybody, answered for every sample'),
      ),
    ).toBe(true);
    expect(descriptionResult.safeParse(result).error).toBeUndefined();
  });

  test('two samples have a map of one axis, which is not drawn as a plane', () => {
    const asked = part(2);
    const result = read(
      asked,
      panel(asked, [
        [['smoky'], ['sour']],
        [['smoky'], ['sour']],
        [['honey'], ['sour']],
      ]),
    );
    expect(result.map).toMatchObject({ drawn: 'line', ellipses: null });
    expect(result.map?.axes).toHaveLength(1);
    expect(result.map?.reading).toContain('drawn as a line');
  });

  test('of two samples the headline says for which a word was checked more', () => {
    const asked = part(2);
    const rows = Array.from({ length: 9 }, () => [['smoky'], ['sour']]);
    // 2 / 2^9 each, three words offered.
    expect(read(asked, panel(asked, rows)).finding.headline).toBe(
      'Smoky was checked more for Cool, sour more for Warm.',
    );
  });

  test('words of one’s own stand together by spelling, as typed', () => {
    const asked = part(2);
    const trays = [
      flightTray(asked, 'a', [0, 1], [says([], ['Wet  wool', 'wet wool.']), says(['smoky'], ['hay'])]),
      flightTray(asked, 'b', [0, 1], [says(['sour'], ['wet wool']), says([], ['Straw!'])]),
    ];
    const { ownWords } = read(asked, trays);
    expect(ownWords[0]).toMatchObject({ assessors: 2, perSample: [2, 0] });
    expect(ownWords[0]?.spellings).toContain('wet wool');
    expect(ownWords.map(({ spellings }) => spellings[0])).toEqual(expect.arrayContaining(['hay', 'Straw!']));
    expect(plainWord('  “Ｗet\tWool” ')).toBe('wet wool');
  });

  test('a document holds to its contract, and does not depend on the order of trays', () => {
    const cell = fc.option(fc.subarray(['smoky', 'sour', 'honey']), { nil: null });
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, cell, cell), { maxLength: 9 }), (rows) => {
        const asked = part(3);
        const trays = panel(asked, rows);
        const result = read(asked, trays);
        expect(descriptionResult.safeParse(result).error).toBeUndefined();
        expect(read(asked, trays.toReversed())).toEqual(result);
        for (const { test: tested } of result.words) {
          if (tested) expect(tested.pAdjusted).toBeGreaterThanOrEqual(tested.p - 1e-15);
        }
      }),
      { numRuns: 60 },
    );
  });
});
