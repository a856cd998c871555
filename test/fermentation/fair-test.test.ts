import { armMaking, type ArmMaking } from '@oddglass/shared/contracts/making.ts';
import type { AnsweredFinding, FairTestFinding } from '@oddglass/shared/contracts/fair-test.ts';
import { fairTestCaveats, sayFirst } from '@oddglass/shared/analysis/common/fair-test.ts';
import { checkFairTest } from '@oddglass/shared/fermentation/fair-test/check.ts';
import { compareArms } from '@oddglass/shared/fermentation/fair-test/compare.ts';
import { COMPARED_FIELDS, fieldsNamedBy } from '@oddglass/shared/fermentation/fair-test/fields.ts';
import { SIGNS, signsOfArm, type ArmWithSigns } from '@oddglass/shared/fermentation/fair-test/signs.ts';
import { describe, expect, test } from 'vitest';

// What the signs mean is common practice, no source, where `SIGNS` names none.

const WHOLE: Partial<ArmMaking> = {
  vessel: 'glass jar',
  vesselMl: 5000,
  closure: 'airlock',
  culture: 'house yeast',
  cultureForm: 'slurry',
  organisms: ['yeast'],
  lot: 'A1',
  pitched: { amount: 50, unit: 'mL' },
  cellsBillion: 40,
  temperatureC: 18,
};
const arm = (
  name: string,
  making: Partial<ArmMaking> = {},
  more: Partial<ArmWithSigns> = {},
): ArmWithSigns => ({
  id: name.toLowerCase(),
  name,
  making: armMaking.parse({ ...WHOLE, ...making }),
  signs: [],
  readings: [],
  ...more,
});
const ids = (found: readonly FairTestFinding[]): string[] => found.map(({ id }) => id);
const saysOf = (found: readonly FairTestFinding[], id: string): string =>
  found.find((one) => one.id === id)?.says ?? 'not found';

test.each<[factor: string, fields: string[]]>([
  ['temperature', ['temperatureC']],
  ['Fermentation temperature ', ['temperatureC']],
  ['The closure', ['closure']],
  ['vessel', ['vessel']],
  ['Amount pitched', ['pitched']],
  // Something else may be meant: the host says which fields it is about.
  ['temperature of the mash', []],
  ['temperature and time', []],
  ['vessels', []],
  ['', []],
])('the factor “%s” names %j outright', (factor, fields) => {
  expect(fieldsNamedBy(factor)).toEqual(fields);
});

describe('arms compared field by field', () => {
  test('arms told alike in everything leave nothing to say', () => {
    expect(compareArms([arm('Cool'), arm('Warm')], [])).toEqual([]);
    expect(compareArms([arm('Cool')], [])).toEqual([]);
  });

  test('the factor is passed by, and every other difference is named with the values of all arms', () => {
    const arms = [arm('Cool'), arm('Warm', { temperatureC: 22, closure: 'porous' })];
    const found = compareArms(arms, ['temperatureC']);
    expect(ids(found)).toEqual(['difference closure']);
    expect(found[0]?.says).toBe(
      'Closure differs besides the factor: Cool airlock and Warm lets some air through (wood, soft plastic, worn seal).',
    );
    expect(ids(compareArms(arms, []))).toEqual(['difference closure', 'difference temperatureC']);
  });

  test.each(COMPARED_FIELDS.map(({ field }) => field))(
    'a difference in %s is found, and only there',
    (field) => {
      const other: Partial<ArmMaking> = {
        vessel: 'steel keg',
        vesselMl: 19_000,
        closure: 'open',
        culture: 'another yeast',
        cultureForm: 'dry',
        organisms: ['lactic-bacteria'],
        lot: 'B7',
        pitched: { amount: 50, unit: 'g' },
        cellsBillion: 90,
        temperatureC: 24,
        additions: [{ what: 'oak', amount: '20 g', on: '2031-03-01' }],
      };
      expect(ids(compareArms([arm('One'), arm('Two', { [field]: other[field] })], []))).toEqual([
        `difference ${field}`,
      ]);
      expect(compareArms([arm('One'), arm('Two', { [field]: other[field] })], [field])).toEqual([]);
    },
  );

  test('what nobody can keep apart is the same: half a degree, a twentieth of an amount, letters in another case', () => {
    const near = { temperatureC: 18.5, pitched: { amount: 52, unit: 'mL' as const }, culture: 'House Yeast' };
    expect(compareArms([arm('One'), arm('Two', near)], [])).toEqual([]);
    expect(ids(compareArms([arm('One'), arm('Two', { temperatureC: 18.6 })], []))).toEqual([
      'difference temperatureC',
    ]);
  });

  test('equal millilitres are not equal cells', () => {
    const found = compareArms([arm('One', { cellsBillion: null }), arm('Two', { cellsBillion: null })], []);
    expect(ids(found)).toEqual(['unknown cellsBillion']);
    expect(found[0]?.says).toMatch(/^The same amount was pitched, but how many cells that is/);
    expect(found[0]?.matters).toMatch(/not equal cells/);
  });

  test('what is unknown of one arm is said of it, and of the factor too', () => {
    const found = compareArms([arm('One'), arm('Two', { temperatureC: null })], ['temperatureC']);
    expect(saysOf(found, 'unknown temperatureC')).toBe('Temperature is not told for Two.');
    const none = compareArms([arm('One', { lot: '' }), arm('Two', { lot: '' })], ['lot']);
    expect(saysOf(none, 'unknown lot')).toBe(
      'Lot of the culture is told for no arm, though the factor is about it.',
    );
  });

  test('an arm of which nothing is noted passes for nothing', () => {
    const bare = armMaking.parse({});
    const found = compareArms(
      [
        { id: 'a', name: 'A', making: bare },
        { id: 'b', name: 'B', making: bare },
      ],
      [],
    );
    expect(ids(found)).toEqual(
      ['vessel', 'closure', 'culture', 'pitched', 'cellsBillion', 'temperatureC'].map(
        (field) => `unknown ${field}`,
      ),
    );
  });
});

describe('signs', () => {
  const noted = (sign: keyof typeof SIGNS, making: Partial<ArmMaking>) =>
    signsOfArm(arm('Tart', making, { signs: [{ sign, on: '2031-03-02' }] }));

  test('foam within a day on bacteria alone says that the arm probably carries yeast', () => {
    const [found] = noted('foam-early', { organisms: ['lactic-bacteria'] });
    expect(found?.undoes).toBe(
      'Tart probably carries something that was not pitched (foam or strong gas within a day): what people tasted may not be the factor.',
    );
    expect(noted('foam-early', { organisms: ['yeast', 'lactic-bacteria'] })[0]?.undoes).toBeNull();
    // Nobody told what was pitched: nothing can be strange.
    expect(noted('foam-early', { organisms: [] })[0]?.undoes).toBeNull();
  });

  test.each([
    ['film', ['lactic-bacteria'], true],
    ['film', ['brettanomyces'], false],
    ['rope', ['yeast'], true],
    ['rope', ['lactic-bacteria'], false],
    ['vinegar', ['yeast'], true],
    ['vinegar', ['acetic-bacteria'], false],
    ['stale', ['yeast'], false],
    ['leak', ['lactic-bacteria'], false],
    ['mould', ['yeast'], false],
  ] as const)('%s on %j undoes the factor: %s', (sign, organisms, undoes) => {
    const [found, ...more] = noted(sign, { organisms: [...organisms] });
    expect(more).toEqual([]);
    expect(found?.undoes !== null).toBe(undoes);
    expect(found?.source.length).toBeGreaterThan(10);
  });

  test('what air makes is held against what closes the vessel, and an answer to it goes with the closure', () => {
    const stale = (closure: ArmMaking['closure']) => noted('stale', { closure })[0];
    expect(stale('porous')?.matters).toContain('lets some air through');
    expect(stale('airtight')?.matters).not.toContain('Its closure');
    expect(stale(null)?.matters).toContain('What closed the vessel is not told.');
    expect(stale('porous')?.grounds).not.toEqual(stale('open')?.grounds);
  });

  test('what may have other causes is said with may', () => {
    expect(noted('vinegar', { organisms: ['yeast'] })[0]?.undoes).toMatch(/^Tart may carry something/);
  });

  const read = (values: readonly [day: number, ph: number | null, gravity: number | null][]) =>
    values.map(([day, ph, gravity]) => ({
      at: new Date(Date.UTC(2031, 2, 1 + day)).toISOString(),
      ph,
      gravity,
    }));

  test('gravity that falls where nothing makes alcohol is a yeast nobody pitched', () => {
    const readings = read([
      [0, 4.4, 1.044],
      [10, 3.6, 1.03],
    ]);
    const [found] = signsOfArm(arm('Tart', { organisms: ['lactic-bacteria'] }, { readings }));
    expect(found).toMatchObject({ id: 'sign gravity-fell tart' });
    expect(found?.undoes).toContain('from 1.044 to 1.030');
    expect(signsOfArm(arm('Tart', { organisms: ['yeast'] }, { readings }))).toEqual([]);
    const little = read([
      [0, 4.4, 1.044],
      [10, 3.6, 1.041],
    ]);
    expect(signsOfArm(arm('Tart', { organisms: ['lactic-bacteria'] }, { readings: little }))).toEqual([]);
  });

  test('a pH that stands still on a lactic culture is told, after some days only', () => {
    const still = (day: number) =>
      read([
        [0, 4.5, null],
        [day, 4.47, null],
      ]);
    const tart = (readings: ArmWithSigns['readings']) =>
      ids(signsOfArm(arm('Tart', { organisms: ['lactic-bacteria'] }, { readings })));
    expect(tart(still(6))).toEqual(['sign ph-stood tart']);
    expect(tart(still(2))).toEqual([]);
    expect(
      tart(
        read([
          [0, 4.5, null],
          [6, 3.9, null],
        ]),
      ),
    ).toEqual([]);
    expect(tart([])).toEqual([]);
  });
});

describe('the check', () => {
  const arms = [
    arm('Cool'),
    arm(
      'Tart',
      { organisms: ['lactic-bacteria'], closure: 'open', cellsBillion: null },
      {
        signs: [
          { sign: 'stale', on: '2031-04-01' },
          { sign: 'foam-early', on: '2031-03-02' },
        ],
      },
    ),
  ];
  const check = (answers: Parameters<typeof checkFairTest>[0]['answers'] = [], of = arms) =>
    checkFairTest({ arms: of, factorFields: ['organisms'], answers });

  test('says first what may undo the factor, then signs, differences and unknowns', () => {
    expect(ids(check())).toEqual([
      'sign foam-early tart',
      'sign stale tart',
      'difference closure',
      'unknown cellsBillion',
    ]);
  });

  const answerTo = ({ id, grounds }: FairTestFinding, answer: string) => ({
    finding: id,
    grounds,
    answer,
    writtenBy: 'Host',
    writtenAt: '2031-04-02T10:00:00Z',
  });

  test('an answer holds for what it was given for, and no longer', () => {
    const closure = check().find(({ id }) => id === 'difference closure')!;
    const answers = [
      answerTo(closure, 'Filled to the brim.'),
      answerTo(closure, 'Filled to the brim, both.'),
    ];
    const answered = (found: AnsweredFinding[]) =>
      found.find(({ id }) => id === 'difference closure')?.answered?.answer;
    expect(answered(check(answers))).toBe('Filled to the brim, both.');
    const changed = [arms[0]!, { ...arms[1]!, making: { ...arms[1]!.making, closure: 'porous' as const } }];
    expect(answered(check(answers, changed))).toBeUndefined();
    // A further arm is a further ground.
    expect(answered(check(answers, [...arms, arm('Third')]))).toBeUndefined();
    // Of three arms that were answered for, two may stand in a session.
    const three = [...arms, arm('Third')];
    const wide = check([], three).find(({ id }) => id === 'difference closure')!;
    expect(answered(check([answerTo(wide, 'All full.')]))).toBe('All full.');
  });

  test('becomes caveats: each known matter with its answer, and all that is unknown in one', () => {
    const [foam] = check();
    const caveats = fairTestCaveats(check([answerTo(foam!, 'It was shaken.')]));
    expect(caveats.map(({ from }) => from)).toEqual(Array(4).fill('fair-test'));
    expect(caveats[0]?.text).toBe(
      'Tart: foam or strong gas within a day, noted for 2031-03-02. The host: It was shaken.',
    );
    expect(caveats.at(-1)?.text).toBe(
      'Not told for every arm: cells pitched. Nobody can say that the arms were alike in that.',
    );
  });

  test('stands before a finding, once, answered or not', () => {
    const finding = { headline: 'A difference was shown.', lede: 'p = 0.01.' };
    const said = sayFirst(finding, check());
    expect(said.headline).toMatch(
      /^Tart probably carries something that was not pitched .* A difference was shown\.$/,
    );
    expect(sayFirst(said, check())).toEqual(said);
    expect(sayFirst(finding, [])).toBe(finding);
    const [foam] = check();
    expect(sayFirst(finding, check([answerTo(foam!, 'It was shaken.')])).headline).toBe(said.headline);
  });
});
