import type { Answer, BallotInput } from '@oddglass/shared/contracts/ballot.ts';
import type { ChoicePart, Part } from '@oddglass/shared/contracts/part.ts';
import { choiceOf, kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { answerErrors, sameBallot } from '@oddglass/shared/rules/answers.ts';
import { describe, expect, test } from 'vitest';

// A ballot sent twice is acknowledged as one; a ballot that differs in anything that was said is another.

const ballot = (answer: Answer): BallotInput => ({
  id: '00000000-0000-4000-8000-000000000001',
  trayId: '00000000-0000-4000-8000-000000000002',
  part: 1,
  sheet: 2,
  comment: 'like rain',
  answer,
});

const choice = {
  kind: 'choice',
  chosen: ['417', '238'],
  confidence: 'guess',
  descriptors: ['a', 'b'],
} as const;
const marks = [
  { code: '417', attributeId: 'sour', value: 40 },
  { code: '417', attributeId: 'bitter', value: null },
  { code: '238', attributeId: 'sour', value: 0 },
];
const words = [
  { id: 'banana', intensity: 1 as const },
  { id: 'clove', intensity: 3 as const },
];
const described = { kind: 'description' as const, words, ownWords: ['wet wool', 'attic'], none: false };
const ANSWERS: Record<Answer['kind'], Answer> = {
  choice: { ...choice, chosen: [...choice.chosen], descriptors: [...choice.descriptors] },
  ranking: { kind: 'ranking', order: ['417', '238', '905'] },
  rating: { kind: 'rating', marks },
  description: described,
  late: { kind: 'late', words: ['banana', 'clove'], none: false },
  control: { kind: 'control', degree: 2 },
  liking: { kind: 'liking', value: 5 },
};

describe('the same ballot', () => {
  test.each(Object.values(ANSWERS))('is one with the same $kind, under whatever id', (answer) => {
    const again = { ...ballot(structuredClone(answer)), id: '00000000-0000-4000-8000-000000000009' };
    expect(sameBallot(ballot(answer), again)).toBe(true);
  });
  test.each<Answer>([
    { ...choice, chosen: ['238', '417'], descriptors: ['b', 'a'] },
    { kind: 'rating', marks: [marks[2]!, marks[0]!, marks[1]!] },
    { ...described, words: words.toReversed(), ownWords: ['attic', 'wet wool'] },
    { kind: 'late', words: ['clove', 'banana'], none: false },
  ])('may tell $kind in another order where order says nothing', (answer) => {
    expect(sameBallot(ballot(ANSWERS[answer.kind]), ballot(answer))).toBe(true);
    expect(sameBallot(ballot(answer), ballot(ANSWERS[answer.kind]))).toBe(true);
  });
  test.each<[string, Partial<BallotInput>]>([
    ['tray', { trayId: '00000000-0000-4000-8000-000000000003' }],
    ['part', { part: 2 }],
    ['sheet', { sheet: 1 }],
    ['comment', { comment: 'like rain.' }],
  ])('is not one with another %s', (_name, change) => {
    const first = ballot(ANSWERS.liking);
    expect(sameBallot(first, { ...first, ...change })).toBe(false);
  });
  test.each<[string, Answer]>([
    ['cup', { ...choice, chosen: ['417', '905'], descriptors: ['a', 'b'] }],
    ['cup less', { ...choice, chosen: ['417'], descriptors: ['a', 'b'] }],
    ['confidence', { ...choice, chosen: ['417', '238'], confidence: 'certain', descriptors: ['a', 'b'] }],
    ['descriptor', { ...choice, chosen: ['417', '238'], descriptors: ['a', 'c'] }],
    ['order of ranks', { kind: 'ranking', order: ['238', '417', '905'] }],
    ['mark', { kind: 'rating', marks: [{ ...marks[0]!, value: 41 }, marks[1]!, marks[2]!] }],
    ['mark instead of none', { kind: 'rating', marks: [marks[0]!, { ...marks[1]!, value: 0 }, marks[2]!] }],
    ['cup of a mark', { kind: 'rating', marks: [{ ...marks[0]!, code: '905' }, marks[1]!, marks[2]!] }],
    ['attribute', { kind: 'rating', marks: [{ ...marks[0]!, attributeId: 'salty' }, marks[1]!, marks[2]!] }],
    ['word', { ...described, words: [words[0]!, { ...words[1]!, id: 'smoke' }] }],
    ['strength', { ...described, words: [words[0]!, { ...words[1]!, intensity: 2 }] }],
    ['own word', { ...described, ownWords: ['wet wool'] }],
    ['none of these', { ...described, none: true }],
    ['degree', { kind: 'control', degree: 3 }],
    ['degree at all', { kind: 'control', degree: null }],
    ['liking', { kind: 'liking', value: 6 }],
  ])('is not one with another %s', (_name, answer) => {
    expect(sameBallot(ballot(ANSWERS[answer.kind]), ballot(answer))).toBe(false);
    expect(sameBallot(ballot(answer), ballot(ANSWERS[answer.kind]))).toBe(false);
  });
  test('is not one with an answer of another kind', () => {
    const kinds = Object.values(ANSWERS);
    for (const one of kinds) {
      for (const other of kinds) {
        expect(sameBallot(ballot(one), ballot(other))).toBe(one.kind === other.kind);
      }
    }
  });
});

const flight = { cups: 'own', samples: [], replicates: 1, cupsEach: null, alpha: 0.05 } as const;
const pairOf = { armIds: ['one', 'two'], replicates: 1, alpha: 0.05 };
const aimed = { ...pairOf, aim: 'difference', meaningfulShare: 0.5, beta: 0.2 } as const;
const PARTS = {
  triangle: { kind: 'triangle', ...aimed },
  tetrad: { kind: 'tetrad', ...aimed },
  preference: { kind: 'preference', armIds: ['one', 'two'], alpha: 0.05, noPreference: false },
  free: { kind: 'preference', armIds: ['one', 'two'], alpha: 0.05, noPreference: true },
  ranking: { kind: 'ranking', ...flight, attribute: 'sour' },
  rating: {
    kind: 'rating',
    ...flight,
    attributes: [{ id: 'sour', name: 'sour', low: 'none', high: 'strong' }],
    scale: 'nine-point',
    by: 'sample',
    returning: false,
  },
  line: {
    kind: 'rating',
    ...flight,
    attributes: [{ id: 'sour', name: 'sour', low: 'none', high: 'strong' }],
    scale: 'line',
    by: 'sample',
    returning: false,
  },
  description: { kind: 'description', ...flight, words: ['banana', 'clove'], intensity: false },
  late: {
    kind: 'description',
    ...flight,
    words: ['banana', 'clove'],
    intensity: false,
    late: { words: ['clove'], seconds: 60 },
  },
  strength: { kind: 'description', ...flight, words: null, intensity: true },
  control: { kind: 'control', ...flight, controlArmId: 'one', degrees: ['none', 'slight', 'large'] },
  liking: { kind: 'liking', ...flight },
} as unknown as Record<string, Part>;

describe('an answer', () => {
  const codes = ['417', '238', '905'];
  const sheet = { part: 1, sheet: 1, codes, attributeIds: ['sour', 'bitter'] };
  const troubles = (part: string, answer: Answer) =>
    answerErrors({
      part: PARTS[part]!,
      sheet,
      answer,
      knowsWord: (id) => ['banana', 'clove', 'smoke'].includes(id),
    }).map(({ pointer, strangeCup }) => (strangeCup ? `${pointer} strange cup` : pointer));
  const choose = (chosen: string[], confidence: 'guess' | null = 'guess', descriptors: string[] = []) => ({
    kind: 'choice' as const,
    chosen,
    confidence,
    descriptors,
  });
  const rate = (value: number | null) => ({
    kind: 'rating' as const,
    marks: codes.flatMap((code) =>
      ['sour', 'bitter'].map((attributeId) => ({ code, attributeId, value: code === '238' ? value : 5 })),
    ),
  });
  const describeWith = (id: string, intensity: 2 | null = null) => ({
    kind: 'description' as const,
    words: [{ id, intensity }],
    ownWords: [],
    none: false,
  });

  test('to a late question is of its own kind, and names words that are asked for then', () => {
    const part = PARTS['late']!;
    const ask = (answer: Answer, late: boolean) =>
      answerErrors({
        part,
        sheet: { part: 1, sheet: 2, codes: ['417'], attributeIds: [], ...(late && { late: true as const }) },
        answer,
        knowsWord: () => true,
      }).map(({ pointer }) => pointer);
    const later = (words: string[]): Answer => ({ kind: 'late', words, none: words.length === 0 });
    expect(ask(later(['clove']), true)).toEqual([]);
    expect(ask(later([]), true)).toEqual([]);
    expect(ask(later(['clove', 'banana']), true)).toEqual(['/words/1']);
    expect(ask(describeWith('clove'), true)).toEqual(['/kind']);
    expect(ask(later(['clove']), false)).toEqual(['/kind']);
    expect(ask(describeWith('clove'), false)).toEqual([]);
  });

  test('has the kind its part takes', () => {
    const kinds = Object.values(PARTS).map((part) => kindOf(part).answer);
    expect(kinds.join(' ')).toBe(
      'choice choice choice choice ranking rating rating description description description control liking',
    );
    for (const [name, part] of Object.entries(PARTS)) {
      for (const answer of Object.values(ANSWERS)) {
        if (answer.kind !== kindOf(part).answer) expect(troubles(name, answer)).toEqual(['/kind']);
      }
    }
  });

  test('chooses as many cups as are asked for', () => {
    expect(
      Object.values(PARTS)
        .slice(0, 4)
        .map((part) => choiceOf(part as ChoicePart).picks(part)),
    ).toEqual([
      { least: 1, most: 1 },
      { least: 2, most: 2 },
      { least: 1, most: 1 },
      { least: 0, most: 1 },
    ]);
  });

  test.each<[string, Answer, string[]]>([
    ['triangle', choose(['417']), []],
    ['triangle', choose([]), ['/chosen']],
    ['triangle', choose(['417', '238']), ['/chosen']],
    ['triangle', choose(['111']), ['/chosen/0 strange cup']],
    ['triangle', choose(['417'], null), ['/confidence']],
    ['triangle', choose(['417'], 'guess', ['banana', 'nothing', 'clove']), ['/descriptors/1']],
    ['tetrad', choose(['417', '905']), []],
    ['tetrad', choose(['417']), ['/chosen']],
    ['tetrad', choose(['417', '111']), ['/chosen/1 strange cup']],
    ['preference', choose(['417'], null), []],
    ['preference', choose([], null), ['/chosen']],
    ['preference', choose(['417']), ['/confidence']],
    ['free', choose([], null), []],
    ['free', choose(['417', '238'], null), ['/chosen']],
    ['ranking', { kind: 'ranking', order: ['905', '417', '238'] }, []],
    ['ranking', { kind: 'ranking', order: ['905', '417'] }, ['/order']],
    ['ranking', { kind: 'ranking', order: ['905', '111', '417'] }, ['/order/1 strange cup']],
    ['ranking', { kind: 'ranking', order: ['111', '417', '238'] }, ['/order/0 strange cup']],
    ['rating', rate(1), []],
    ['rating', rate(9), []],
    ['rating', rate(null), []],
    ['rating', rate(0), ['/marks/2/value', '/marks/3/value']],
    ['rating', rate(10), ['/marks/2/value', '/marks/3/value']],
    ['rating', rate(2.5), ['/marks/2/value', '/marks/3/value']],
    ['line', rate(2.5), []],
    ['line', { kind: 'rating', marks: rate(50).marks.slice(1) }, ['/marks']],
    ['line', { kind: 'rating', marks: [...rate(50).marks, rate(50).marks[1]!] }, ['/marks/6']],
    [
      'line',
      { kind: 'rating', marks: [...rate(50).marks, { code: '111', attributeId: 'salty', value: 1 }] },
      ['/marks/6/code strange cup', '/marks/6/attributeId'],
    ],
    ['description', describeWith('banana'), []],
    ['description', describeWith('smoke'), ['/words/0/id']],
    ['description', describeWith('nothing'), ['/words/0/id']],
    ['description', describeWith('banana', 2), ['/words/0/intensity']],
    ['strength', describeWith('smoke', 2), []],
    ['strength', describeWith('nothing', 2), ['/words/0/id']],
    ['strength', describeWith('smoke'), ['/words/0/intensity']],
    ['control', { kind: 'control', degree: 2 }, []],
    ['control', { kind: 'control', degree: 3 }, ['/degree']],
    ['control', { kind: 'control', degree: null }, []],
    ['liking', { kind: 'liking', value: 9 }, []],
  ])('to %s: %j gives %j', (part, answer, pointers) => {
    expect(troubles(part, answer)).toEqual(pointers);
  });

  test.each<[string, Answer, string]>([
    ['triangle', choose([]), 'Choose one cup.'],
    ['tetrad', choose(['417']), 'Choose two cups.'],
    ['triangle', choose(['111']), 'There is no cup 111 to choose on this tray.'],
    [
      'ranking',
      { kind: 'ranking', order: ['905', '111', '417'] },
      'There is no cup 111 to choose on this tray.',
    ],
    ['control', { kind: 'control', degree: 3 }, 'The scale ends at 2.'],
    ['liking', choose(['417']), 'This sheet asks for a liking.'],
    ['strength', describeWith('smoke'), 'Say how strong it is.'],
    ['description', describeWith('banana', 2), 'Strength is not asked for here.'],
  ])('to %s: %j is told so', (part, answer, detail) => {
    const [first] = answerErrors({ part: PARTS[part]!, sheet, answer, knowsWord: () => true });
    expect(first?.detail).toBe(detail);
  });
});
