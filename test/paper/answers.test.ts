import type { PartAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { answer as answerContract } from '@oddglass/shared/contracts/ballot.ts';
import { PART_KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { paperAnswers } from '@oddglass/shared/paper/answers.ts';
import { BLANK } from '@oddglass/shared/paper/field.ts';
import { MOST_LISTED, paperForm, placesOf } from '@oddglass/shared/paper/form.ts';
import { describe, expect, test } from 'vitest';
import { oneTray, WORDS } from '../support/paper-facts.ts';

const attributes = [
  { id: 'bitter', name: 'bitterness', low: 'none', high: 'strong' },
  { id: 'fruit', name: 'fruit', low: 'none', high: 'strong' },
];

/** Every kind as a seat knows it, what is typed from its sheet, and the answer to the first of its sheets, found by hand. */
const KINDS: Record<string, { part: PartAtSeat; typed: Record<string, string>; first: unknown }> = {
  triangle: {
    part: { kind: 'triangle' },
    typed: { '1.1.1.cups': '207', '1.1.1.sure': '3', '1.1.1.why': 'Clove, old socks', '1.1.1.note': 'faint' },
    first: {
      answer: { kind: 'choice', chosen: ['207'], confidence: 'guess', descriptors: ['clove'] },
      comment: 'faint; old socks',
    },
  },
  'duo-trio': {
    part: { kind: 'duo-trio' },
    typed: { '1.1.1.cups': '431', '1.1.1.sure': BLANK },
    // Nobody insisted on paper: the choice counts without it.
    first: { answer: { kind: 'choice', chosen: ['431'], confidence: null, descriptors: [] } },
  },
  tetrad: {
    part: { kind: 'tetrad' },
    typed: { '1.1.1.cups': '431 658', '1.1.1.sure': '1' },
    first: { answer: { kind: 'choice', chosen: ['431', '658'], confidence: 'certain', descriptors: [] } },
  },
  'two-out-of-five': {
    part: { kind: 'two-out-of-five' },
    typed: { '1.1.1.cups': '431 658', '1.1.1.sure': '2' },
    first: { answer: { kind: 'choice', chosen: ['431', '658'], confidence: 'fairly-sure', descriptors: [] } },
  },
  'three-afc': {
    part: { kind: 'three-afc', attribute: 'sour' },
    typed: { '1.1.1.cups': '658', '1.1.1.sure': '1' },
    first: { answer: { kind: 'choice', chosen: ['658'], confidence: 'certain', descriptors: [] } },
  },
  'directional-pair': {
    part: { kind: 'directional-pair', attribute: 'sour' },
    typed: { '1.1.1.cups': '207', '1.1.1.sure': '2' },
    first: { answer: { kind: 'choice', chosen: ['207'], confidence: 'fairly-sure', descriptors: [] } },
  },
  'same-different': {
    part: { kind: 'same-different' },
    typed: { '1.1.1.said': '2', '1.1.1.sure': '3', '1.1.1.why': 'clove' },
    // Both cups of the tray are said to differ.
    first: {
      answer: { kind: 'choice', chosen: ['431', '207'], confidence: 'guess', descriptors: ['clove'] },
    },
  },
  'same-different, said to be the same': {
    part: { kind: 'same-different' },
    typed: { '1.1.1.said': '1', '1.1.1.sure': '1' },
    first: { answer: { kind: 'choice', chosen: [], confidence: 'certain', descriptors: [] } },
  },
  preference: {
    part: { kind: 'preference', noPreference: true },
    typed: { '1.1.1.cups': '0' },
    first: { answer: { kind: 'choice', chosen: [], confidence: null, descriptors: [] } },
  },
  ranking: {
    part: { kind: 'ranking', attribute: 'sour' },
    // 207 stands first, then 658, then 431.
    typed: { '1.1.1.order': '3 1 2' },
    first: { answer: { kind: 'ranking', order: ['207', '658', '431'] } },
  },
  rating: {
    part: { kind: 'rating', attributes, scale: 'line', by: 'sample', returning: false },
    typed: { '1.1.1.m1': '63', '1.1.1.m2': '-', '1.1.1.note': 'thin' },
    first: {
      answer: {
        kind: 'rating',
        marks: [
          { code: '431', attributeId: 'bitter', value: 63 },
          { code: '431', attributeId: 'fruit', value: null },
        ],
      },
      comment: 'thin',
    },
  },
  'rating by attribute': {
    part: { kind: 'rating', attributes, scale: 'nine-point', by: 'attribute', returning: true },
    typed: { '1.1.1.m1': '9', '1.1.1.m2': '1', '1.1.1.m3': BLANK },
    first: {
      answer: {
        kind: 'rating',
        marks: [
          { code: '431', attributeId: 'bitter', value: 9 },
          { code: '207', attributeId: 'bitter', value: 1 },
          { code: '658', attributeId: 'bitter', value: null },
        ],
      },
    },
  },
  description: {
    part: { kind: 'description', words: ['banana', 'clove', 'honey'], intensity: true },
    typed: { '1.1.1.words': '1.2 3', '1.1.1.own': 'candle wax' },
    first: {
      answer: {
        kind: 'description',
        words: [
          { id: 'banana', intensity: 2 },
          { id: 'honey', intensity: null },
        ],
        ownWords: ['candle wax'],
        none: false,
      },
    },
  },
  'description, written': {
    part: { kind: 'description', words: null, intensity: true },
    typed: { '1.1.1.written': 'Clove 3, candle wax 1, banana' },
    first: {
      answer: {
        kind: 'description',
        words: [
          { id: 'clove', intensity: 3 },
          { id: 'banana', intensity: null },
        ],
        ownWords: ['candle wax'],
        none: false,
      },
    },
  },
  control: {
    part: { kind: 'control', degrees: ['none', 'some', 'much'] },
    typed: { '1.1.1.degree': '0' },
    first: { answer: { kind: 'control', degree: 0 } },
  },
  liking: {
    part: { kind: 'liking' },
    typed: { '1.1.1.liking': '-' },
    first: { answer: { kind: 'liking', value: null } },
  },
};

test('every kind of part is among them', () => {
  expect(new Set(Object.values(KINDS).map(({ part }) => part.kind))).toEqual(new Set(PART_KINDS));
});

describe('a sheet gives the answer that a tablet would send', () => {
  test.each(Object.entries(KINDS))('%s', (_name, { part, typed, first }) => {
    const facts = oneTray([part]);
    const form = paperForm(facts);
    const ids = placesOf(form).flatMap(({ fields }) => fields.map(({ id }) => id));
    expect(ids).toEqual(expect.arrayContaining(Object.keys(typed)));
    expect(new Set(ids).size).toBe(ids.length);
    const [answer, ...others] = paperAnswers(form, typed, facts.words);
    expect(answer).toMatchObject({ part: 1, sheet: 1, ...(first as object) });
    expect(answerContract.safeParse(answer?.answer).error).toBeUndefined();
    expect(others).toEqual([]);
  });

  test.each(Object.entries(KINDS))('%s: where nothing is marked nothing is answered', (_name, { part }) => {
    const facts = oneTray([part]);
    const form = paperForm(facts);
    const fields = placesOf(form).flatMap(({ fields: list }) => list);
    expect(paperAnswers(form, {}, facts.words)).toEqual([]);
    const blanks = Object.fromEntries(fields.map(({ id }) => [id, BLANK]));
    expect(paperAnswers(form, blanks, facts.words)).toEqual([]);
  });
});

test('none of these is said on purpose, in a list and in writing', () => {
  const listed = oneTray([{ kind: 'description', words: ['banana', 'clove'], intensity: false }]);
  const none = { kind: 'description', words: [], ownWords: [], none: true };
  expect(paperAnswers(paperForm(listed), { '1.1.2.words': '0' }, listed.words)).toMatchObject([
    { sheet: 2, answer: none },
  ]);
  const written = oneTray([{ kind: 'description', words: null, intensity: false }]);
  expect(paperAnswers(paperForm(written), { '1.1.1.written': '0' }, written.words)).toMatchObject([
    { answer: none },
  ]);
});

test('the late question has a sheet of its own after each cup', () => {
  const late = { words: ['smoke', 'clove'], seconds: 60 };
  const facts = oneTray([
    { kind: 'description', words: ['banana', 'clove', 'smoke'], intensity: false, late },
  ]);
  const form = paperForm(facts);
  // The seat's own order: clove stands before smoke in WORDS.
  expect(form.questions[1]?.words.map(({ id }) => id)).toEqual(['clove', 'smoke']);
  expect(paperAnswers(form, { '1.1.2.late': '2', '1.1.4.late': '0' }, facts.words)).toMatchObject([
    { sheet: 2, answer: { kind: 'late', words: ['smoke'], none: false } },
    { sheet: 4, answer: { kind: 'late', words: [], none: true } },
  ]);
});

test('swallowed or spat goes with the last sheet of the tray that was answered', () => {
  const facts = oneTray([{ kind: 'liking' }]);
  const form = paperForm(facts);
  const typed = { '1.1.1.liking': '5', '1.1.2.liking': '6', '1.swallowed': '2' };
  expect(paperAnswers(form, typed, facts.words).map(({ swallowing }) => swallowing)).toEqual([null, 'spat']);
  expect(paperForm({ ...facts, smellOnly: true }).ofTrays.size).toBe(0);
});

test('so many words are written, not listed', () => {
  const many = Array.from({ length: MOST_LISTED + 1 }, (_, at) => `word-${at}`);
  const form = paperForm(oneTray([{ kind: 'description', words: many, intensity: false }]));
  expect(form.questions[0]?.fields.map(({ kind }) => kind)).toEqual(['written']);
  const few = paperForm(
    oneTray([{ kind: 'description', words: WORDS.map(({ id }) => id), intensity: false }]),
  );
  expect(few.questions[0]?.fields.map(({ kind }) => kind)).toEqual(['ticks', 'written']);
});
