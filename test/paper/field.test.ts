import { mayBeEmpty, readField, sameEntry, type PaperField } from '@oddglass/shared/paper/field.ts';
import { describe, expect, test } from 'vitest';

const cups: PaperField = {
  id: 'a',
  label: 'cup',
  kind: 'cups',
  codes: ['431', '207', '658'],
  least: 1,
  most: 1,
};
const pair: PaperField = { ...cups, least: 2, most: 2 } as PaperField;
const preference: PaperField = { ...cups, least: 0 } as PaperField;
const degree: PaperField = {
  id: 'a',
  label: '',
  kind: 'steps',
  first: 0,
  steps: ['none', 'some', 'much'],
  cannot: true,
};
const sure: PaperField = {
  id: 'a',
  label: '',
  kind: 'steps',
  first: 1,
  steps: ['certain', 'fairly', 'guess'],
  cannot: false,
};
const line: PaperField = { id: 'a', label: '', kind: 'line' };
const order: PaperField = { id: 'a', label: '', kind: 'order', codes: ['431', '207', '658'] };
const words = [
  { id: 'clove', word: 'clove' },
  { id: 'banana', word: 'banana' },
];
const ticks: PaperField = { id: 'a', label: '', kind: 'ticks', words, strength: true };
const plainTicks: PaperField = { ...ticks, strength: false } as PaperField;
const written: PaperField = { id: 'a', label: '', kind: 'written', most: 3, strength: true, none: true };

const kept = (field: PaperField, typed: string): string => {
  const read = readField(field, typed);
  if ('trouble' in read) throw new Error(`'${typed}': ${read.trouble}`);
  return read.text;
};

describe('what is typed is kept in one spelling', () => {
  test.each<[PaperField, string, string]>([
    [cups, '431', '431'],
    [cups, ' 2 ', '207'],
    [cups, '.', '.'],
    [pair, '658 431', '431 658'],
    [pair, '3,1', '431 658'],
    [preference, '0', '0'],
    [degree, '0', '0'],
    [degree, '-', '-'],
    [sure, '3', '3'],
    [line, '063', '63'],
    [line, '63,5', '63.5'],
    [line, '100', '100'],
    [line, '0', '0'],
    [line, '-', '-'],
    [order, '2 1 3', '2 1 3'],
    [order, '213', '2 1 3'],
    [ticks, '2.3 1.1', '1.1 2.3'],
    [ticks, '2*3', '2.3'],
    // A strength that was not crossed does not take the word along.
    [ticks, '2', '2'],
    [ticks, '0', '0'],
    [plainTicks, '2 1', '1 2'],
    [written, ' Clove 2 ; wet dog', 'Clove 2, wet dog'],
    [written, '', ''],
    [{ id: 'a', label: '', kind: 'digits' }, '48 12 07', '481207'],
    [{ id: 'a', label: '', kind: 'time' }, '9.40', '09:40'],
    [{ id: 'a', label: '', kind: 'crossed' }, '0', ''],
    [{ id: 'a', label: '', kind: 'note' }, ' like  tea ', 'like tea'],
  ])('%o takes %s as %s', (field, typed, text) => expect(kept(field, typed)).toBe(text));
});

describe('what cannot stand there is refused with a reason at the place', () => {
  test.each<[PaperField, string, RegExp]>([
    [cups, '', /full stop/],
    [cups, '999', /No cup of that number: there are 431, 207, 658/],
    [cups, '4', /No cup of that number/],
    [cups, '431 207', /It takes one cup/],
    [pair, '431', /It takes two cups/],
    [pair, '431 431', /It takes two cups/],
    [cups, '0', /full stop/],
    [degree, '3', /from 0 to 2, or - for/],
    [sure, '0', /from 1 to 3\./],
    [sure, '-', /from 1 to 3\./],
    [line, '101', /0 to 100/],
    [line, '6.35', /Millimetres/],
    [line, 'x', /Millimetres/],
    [order, '1 1 2', /once/],
    [order, '1 2', /once/],
    [order, '4 1 2', /once/],
    [ticks, '3', /numbered 1 to 2/],
    [ticks, '1.4', /no word of this sheet/],
    [ticks, '1.1 1.2', /twice/],
    [plainTicks, '1.2', /not asked/],
    [written, 'a, b, c, d', /At most 3/],
    [{ ...written, none: false } as PaperField, '0', /leave it empty/],
    [{ id: 'a', label: '', kind: 'digits' }, '12345', /Six digits/],
    [{ id: 'a', label: '', kind: 'time' }, '25:00', /19:40/],
    [{ id: 'a', label: '', kind: 'crossed' }, '2', /1 where it is crossed/],
    [{ id: 'a', label: '', kind: 'note' }, 'x'.repeat(501), /500/],
  ])('%o refuses %s', (field, typed, reason) => {
    const read = readField(field, typed);
    expect('trouble' in read && read.trouble).toMatch(reason);
  });
});

test('what was kept is read again as the same', () => {
  for (const [field, typed] of [
    [pair, '658 431'],
    [ticks, '2.3 1'],
    [written, 'b 1; a'],
    [line, '7,5'],
  ] as const) {
    const text = kept(field, typed);
    expect(kept(field, text)).toBe(text);
  }
});

test('two entries differ by what counts, not by capitals of a note', () => {
  const note: PaperField = { id: 'a', label: '', kind: 'note' };
  expect(sameEntry(note, 'Like tea.', 'like  tea')).toBe(true);
  expect(sameEntry(note, 'like tea', 'like coffee')).toBe(false);
  expect(sameEntry(line, '63', '63.5')).toBe(false);
  expect(sameEntry(line, '63', '63')).toBe(true);
});

test('only what the paper may well lack may be left empty', () => {
  expect([cups, degree, line, order, ticks].some(mayBeEmpty)).toBe(false);
});
