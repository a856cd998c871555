import type { DescriptionAnswer } from '@oddglass/shared/contracts/ballot.ts';
import type {
  ControlPart,
  DescriptionPart,
  Part,
  RatingPart,
  TrianglePart,
} from '@oddglass/shared/contracts/part.ts';
import { answerErrors, sameBallot } from '@oddglass/shared/rules/answers.ts';
import { partErrors } from '@oddglass/shared/contracts/part-fit.ts';
import {
  armsOfPart,
  armsOfParts,
  cupsIndex,
  lateOf,
  sheetsOfTray,
  workloadPerSeat,
} from '@oddglass/shared/rules/parts.ts';
import { describe, expect, test } from 'vitest';

const triangle: TrianglePart = {
  kind: 'triangle',
  armIds: ['one', 'two'],
  replicates: 2,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const flight = { cups: 'own' as const, replicates: 1, cupsEach: null, alpha: 0.05 };
const sample = (armId: string, role: 'sample' | 'duplicate' | 'warm-up' = 'sample') => ({
  armId,
  role,
  spike: null,
});
const rating: RatingPart = {
  kind: 'rating',
  ...flight,
  samples: [sample('one'), sample('two'), sample('two', 'duplicate'), sample('one', 'warm-up')],
  attributes: [
    { id: 'bitter', name: 'bitter', low: 'not at all', high: 'very' },
    { id: 'sour', name: 'sour', low: 'not at all', high: 'very' },
  ],
  scale: 'line',
  by: 'sample',
  returning: false,
};
const after: DescriptionPart = {
  kind: 'description',
  ...flight,
  cups: 'before',
  samples: [],
  words: null,
  intensity: false,
};
const control: ControlPart = {
  kind: 'control',
  ...flight,
  samples: [sample('two'), sample('three')],
  controlArmId: 'one',
  degrees: ['none', 'slight', 'clear'],
};
const cups = (...codes: string[]) => codes.map((code, at) => ({ position: at + 1, code, mark: null }));

describe('parts in order', () => {
  test('a part on the cups before it asks about them, tray by tray', () => {
    const parts = [triangle, after];
    expect(cupsIndex(parts, 1)).toBe(0);
    const sheets = sheetsOfTray(parts, { part: 1, servings: cups('417', '238', '905') });
    expect(sheets.map(({ part, sheet, codes }) => [part, sheet, codes.join()])).toEqual([
      [1, 1, '417,238,905'],
      [2, 1, '417'],
      [2, 2, '238'],
      [2, 3, '905'],
    ]);
    expect(workloadPerSeat(parts)).toEqual({ trays: 2, cups: 6, sheets: 8 });
    expect(sheetsOfTray(parts, { part: 2, servings: cups('417') })).toEqual([]);
  });

  test('cups are asked about left to right, however they were written down', () => {
    const servings = [
      { position: 3, code: '905', mark: null },
      { position: 1, code: '417', mark: null },
      { position: 2, code: '238', mark: null },
    ];
    expect(sheetsOfTray([triangle], { part: 1, servings })).toEqual([
      { part: 1, sheet: 1, codes: ['417', '238', '905'], attributeIds: [] },
    ]);
    expect(servings[0]?.code).toBe('905');
  });

  test('a part has its own cups, or those of the nearest before it that has some', () => {
    expect(cupsIndex([triangle, rating], 1)).toBe(1);
    expect(cupsIndex([triangle, rating, after, after], 3)).toBe(1);
    // Nothing comes before the first, whatever it says.
    expect(cupsIndex([after, after], 1)).toBe(0);
  });

  test('arms are poured for a choice and for a flight, each once', () => {
    expect(armsOfPart(triangle)).toEqual(['one', 'two']);
    expect(armsOfPart(rating)).toEqual(['one', 'two']);
    expect(armsOfParts([triangle, control])).toEqual(['one', 'two', 'three']);
  });

  test('the late question of a cup comes before the next cup, under a number of its own', () => {
    const late: Part = { ...after, late: { words: ['banana'], seconds: 60 } };
    const sheets = sheetsOfTray([triangle, late], { part: 1, servings: cups('417', '238', '905') });
    expect(sheets.slice(1).map((sheet) => [sheet.sheet, sheet.codes.join(), sheet.late ?? false])).toEqual([
      [1, '417', false],
      [2, '417', true],
      [3, '238', false],
      [4, '238', true],
      [5, '905', false],
      [6, '905', true],
    ]);
    expect(workloadPerSeat([triangle, late])).toEqual({ trays: 2, cups: 6, sheets: 14 });
    expect([lateOf(late), lateOf(after), lateOf(triangle)]).toEqual([late.late, null, null]);
  });

  test('a word asked for late is offered at first too', () => {
    const late = { words: ['banana', 'smoke'], seconds: 60 };
    const said = (words: string[] | null) =>
      partErrors([triangle, { ...after, words, late }]).map(({ at }) => at);
    expect(said(['banana', 'clove'])).toEqual([[1, 'late', 'words', 1]]);
    expect(said(['banana', 'smoke'])).toEqual([]);
    expect(said(null)).toEqual([]);
  });

  test('rating asks cup by cup, or attribute by attribute', () => {
    const tray = { part: 1, servings: cups('417', '238') };
    expect(sheetsOfTray([rating], tray).map(({ codes, attributeIds }) => [codes, attributeIds])).toEqual([
      [['417'], ['bitter', 'sour']],
      [['238'], ['bitter', 'sour']],
    ]);
    const across = { ...rating, by: 'attribute' as const };
    expect(sheetsOfTray([across], tray).map(({ codes, attributeIds }) => [codes, attributeIds])).toEqual([
      [['417', '238'], ['bitter']],
      [['417', '238'], ['sour']],
    ]);
    expect(workloadPerSeat([rating])).toEqual({ trays: 1, cups: 4, sheets: 4 });
    expect(workloadPerSeat([{ ...rating, cupsEach: 2 }])).toEqual({ trays: 1, cups: 3, sheets: 3 });
  });

  test('nothing is asked about a marked cup', () => {
    const servings = [{ position: 1, code: '100', mark: 'control' }, ...cups('417', '238', '905')].map(
      (cup, at) => ({ ...cup, position: at + 1 }),
    );
    expect(sheetsOfTray([control], { part: 1, servings }).map(({ codes }) => codes[0])).toEqual([
      '417',
      '238',
      '905',
    ]);
    expect(workloadPerSeat([control])).toEqual({ trays: 1, cups: 4, sheets: 3 });
    expect(armsOfParts([control, rating])).toEqual(['one', 'two', 'three']);
  });
});

describe('what does not fit together', () => {
  const messages = (...parts: Part[]) => partErrors(parts).map(({ at }) => at.join('/'));
  test.each<[string, Part[], string[]]>([
    ['a whole evening', [triangle, after, rating, control], []],
    ['the first part on cups before it', [after], ['0/cups']],
    ['a control on the cups before it', [triangle, { ...control, cups: 'before', samples: [] }], ['1/cups']],
    ['samples beside cups before it', [triangle, { ...after, samples: [sample('one')] }], ['1/samples']],
    ['one sample', [{ ...rating, samples: [sample('one')] }], ['0/samples']],
    [
      'an arm twice as a sample',
      [{ ...rating, samples: [sample('one'), sample('one')] }],
      ['0/samples/1/role'],
    ],
    [
      'a duplicate of nothing',
      [{ ...rating, samples: [sample('one'), sample('three'), sample('two', 'duplicate')] }],
      ['0/samples/2/role'],
    ],
    [
      'one spiked sample twice, whatever its case',
      [
        {
          ...rating,
          samples: [
            sample('one'),
            { armId: 'one', role: 'spiked', spike: 'vanillin 2 mg/L' },
            { armId: 'one', role: 'spiked', spike: 'Vanillin 2 mg/L' },
            { armId: 'one', role: 'spiked', spike: 'vanillin 4 mg/L' },
          ],
        },
      ],
      ['0/samples/2/spike'],
    ],
    [
      'the control as a sample too',
      [{ ...control, samples: [sample('one'), sample('two')] }],
      ['0/samples/0/armId'],
    ],
    ['a cap that caps nothing', [{ ...rating, cupsEach: 3 }], ['0/cupsEach']],
  ])('%s', (_name, parts, expected) => expect(messages(...parts)).toEqual(expected));
});

describe('answers', () => {
  const [sheet] = sheetsOfTray([rating], { part: 1, servings: cups('417', '238') });
  const ask = (part: Part, answer: Parameters<typeof answerErrors>[0]['answer'], asked = sheet!) =>
    answerErrors({ part, sheet: asked, answer, knowsWord: (id) => id === 'banana' }).map(
      ({ pointer }) => pointer,
    );
  const mark = (attributeId: string, value: number | null, code = '417') => ({ code, attributeId, value });

  test('a rating marks everything it is asked, once', () => {
    expect(ask(rating, { kind: 'rating', marks: [mark('bitter', 0), mark('sour', null)] })).toEqual([]);
    expect(ask(rating, { kind: 'rating', marks: [mark('bitter', 3)] })).toEqual(['/marks']);
    expect(ask(rating, { kind: 'rating', marks: [mark('bitter', 3), mark('bitter', 4)] })).toEqual([
      '/marks/1',
    ]);
    expect(ask(rating, { kind: 'rating', marks: [mark('bitter', 3), mark('sour', 4, '238')] })).toEqual([
      '/marks/1/code',
    ]);
    const nine = { ...rating, scale: 'nine-point' as const };
    expect(ask(nine, { kind: 'rating', marks: [mark('bitter', 0), mark('sour', 9)] })).toEqual([
      '/marks/0/value',
    ]);
  });

  test('a choice names as many cups as its test asks for', () => {
    const all = { part: 1, sheet: 1, codes: ['417', '238', '905', '611'], attributeIds: [] };
    const choose = (kind: Part['kind'], chosen: string[], confidence: 'guess' | null = 'guess') =>
      ask(
        { ...triangle, kind, noPreference: true } as unknown as Part,
        { kind: 'choice', chosen, confidence, descriptors: [] },
        all,
      );
    expect(choose('triangle', ['417'])).toEqual([]);
    expect(choose('triangle', [])).toEqual(['/chosen']);
    expect(choose('triangle', ['417'], null)).toEqual(['/confidence']);
    expect(choose('triangle', ['999'])).toEqual(['/chosen/0']);
    expect(choose('tetrad', ['417'])).toEqual(['/chosen']);
    expect(choose('tetrad', ['417', '611'])).toEqual([]);
    expect(choose('two-out-of-five', ['417'])).toEqual(['/chosen']);
    expect(choose('two-out-of-five', ['417', '611'])).toEqual([]);
    expect(choose('preference', [], null)).toEqual([]);
    expect(choose('preference', ['417'], 'guess')).toEqual(['/confidence']);
    expect(choose('same-different', ['417', '238'])).toEqual([]);
    expect(choose('same-different', [])).toEqual([]);
    expect(choose('same-different', ['417'])).toEqual(['/chosen']);
    expect(choose('same-different', [], null)).toEqual(['/confidence']);
  });

  test('words have to be offered, and strong or faint only where that is asked', () => {
    const words = (id: string, intensity: 1 | null): DescriptionAnswer => ({
      kind: 'description',
      words: [{ id, intensity }],
      ownWords: [],
      none: false,
    });
    expect(ask(after, words('banana', null))).toEqual([]);
    expect(ask(after, words('banana', 1))).toEqual(['/words/0/intensity']);
    expect(ask({ ...after, intensity: true }, words('banana', null))).toEqual(['/words/0/intensity']);
    expect(ask(after, words('clove', null))).toEqual(['/words/0/id']);
    expect(ask({ ...after, words: ['clove', 'bread'] }, words('banana', null))).toEqual(['/words/0/id']);
  });

  test('another kind of answer, a degree off the scale, a cup left out of a ranking', () => {
    expect(ask(rating, { kind: 'liking', value: 5 })).toEqual(['/kind']);
    expect(ask(control, { kind: 'control', degree: 3 })).toEqual(['/degree']);
    expect(ask(control, { kind: 'control', degree: null })).toEqual([]);
    const ranking: Part = {
      kind: 'ranking',
      ...flight,
      samples: [sample('one'), sample('two')],
      attribute: 'sour',
    };
    const all = { part: 1, sheet: 1, codes: ['417', '238'], attributeIds: [] };
    expect(ask(ranking, { kind: 'ranking', order: ['238', '417'] }, all)).toEqual([]);
    expect(ask(ranking, { kind: 'ranking', order: ['238', '999'] }, all)).toEqual(['/order/1']);
    expect(
      ask(
        { ...ranking },
        { kind: 'ranking', order: ['238', '417'] },
        { ...all, codes: ['417', '238', '905'] },
      ),
    ).toEqual(['/order']);
  });

  test('the same answer in another order is the same answer', () => {
    const one = { trayId: 't', part: 1, sheet: 1, comment: '' };
    const marks = [mark('bitter', 1), mark('sour', 2)];
    expect(
      sameBallot(
        { ...one, answer: { kind: 'rating', marks } },
        { ...one, answer: { kind: 'rating', marks: marks.toReversed() } },
      ),
    ).toBe(true);
    expect(
      sameBallot(
        { ...one, answer: { kind: 'ranking', order: ['417', '238'] } },
        { ...one, answer: { kind: 'ranking', order: ['238', '417'] } },
      ),
    ).toBe(false);
    expect(
      sameBallot(
        { ...one, answer: { kind: 'liking', value: 5 } },
        { ...one, sheet: 2, answer: { kind: 'liking', value: 5 } },
      ),
    ).toBe(false);
  });
});
