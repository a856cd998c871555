import { paperForm } from '@oddglass/shared/paper/form.ts';
import { entryWanted, onPaper } from '@oddglass/shared/paper/guarded.ts';
import { differences, paperStanding, type Entry } from '@oddglass/shared/paper/standing.ts';
import { expect, test } from 'vitest';
import { oneTray } from '../support/paper-facts.ts';

const form = paperForm(oneTray([{ kind: 'triangle' }]));
const said = (step: Entry['step'], cups: string, note = ''): Entry => ({
  step,
  values: { '1.1.1.cups': cups, '1.1.1.sure': '2', '1.1.1.note': note },
});

test('twice: it counts when two entries agree, and waits for the second', () => {
  expect(paperStanding(form, [], 'twice')).toMatchObject({ state: 'waiting', due: 'first', counting: null });
  const first = said('first', '431', 'Like tea.');
  expect(paperStanding(form, [first], 'twice')).toMatchObject({
    state: 'once',
    due: 'second',
    counting: null,
  });
  const agreed = [first, said('second', '431', 'like tea')];
  expect(paperStanding(form, agreed, 'twice')).toMatchObject({ state: 'counts', due: 'corrected' });
  expect(paperStanding(form, agreed, 'twice').counting).toBe(first);
});

test('where two differ nothing counts before the sheet has settled it', () => {
  const [first, second] = [said('first', '431'), said('second', '207')];
  const standing = paperStanding(form, [first, second], 'twice');
  expect(standing).toMatchObject({ state: 'differs', due: 'settled', counting: null });
  expect(standing.differing).toEqual({ first, second, ids: ['1.1.1.cups'] });
  const settled = said('settled', '207');
  expect(paperStanding(form, [first, second, settled], 'twice')).toMatchObject({ state: 'counts' });
  expect(paperStanding(form, [first, second, settled], 'twice').counting).toBe(settled);
});

test('once: the first entry counts; a correction stands beside it, and the newest counts', () => {
  const entries = [said('first', '431'), said('corrected', '207'), said('corrected', '658')];
  expect(paperStanding(form, entries.slice(0, 1), 'once').counting).toBe(entries[0]);
  expect(paperStanding(form, entries, 'once').counting).toBe(entries[2]);
  expect(entryWanted({})).toBe('twice');
  expect(entryWanted({ paperEntry: 'once' })).toBe('once');
});

test('a place that one entry lacks differs', () => {
  expect(differences(form, { '1.1.1.cups': '431' }, {})).toEqual(['1.1.1.cups']);
  expect(differences(form, {}, {})).toEqual([]);
});

test('planning says what becomes of a question on paper', () => {
  const flight = { cups: 'own' as const, samples: [], replicates: 1, cupsEach: null, alpha: 0.05 };
  const description = { kind: 'description', ...flight, intensity: false } as const;
  const clove = ['clove', 'bread'];
  expect(onPaper({ ...description, words: clove })).toEqual([]);
  expect(onPaper({ ...description, words: null }).join()).toContain('not listed on each sheet');
  expect(onPaper({ ...description, words: clove, late: { words: ['clove'], seconds: 60 } }).join()).toContain(
    '60 s',
  );
  expect(
    onPaper({
      kind: 'rating',
      ...flight,
      attributes: [],
      scale: 'line',
      by: 'sample',
      returning: false,
    }).join(),
  ).toContain('going back');
});
