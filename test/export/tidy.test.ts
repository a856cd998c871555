import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { figureRows, TIDY_COLUMNS, tidyAnswers, type TidyRow } from '@oddglass/shared/export/tidy.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { expect, test } from 'vitest';
import { armId, flight, flightInput, flightTray } from '../analysis/common/flight-input.ts';

// Exported answers, row by row, as somebody reads them in a spreadsheet.

const ranking: Part = { kind: 'ranking', ...flight(3), attribute: 'sour' };

/** Two people who had the cups 101 to 103, with these samples in them, and their answers. */
function session(part: Part, answers: readonly (Answer | null)[], further: Part[] = []): SessionInput {
  if (!('samples' in part)) throw new Error('a flight is served');
  const { session: facts, settings, samples } = flightInput(part, []);
  return {
    session: facts,
    settings: { ...settings, parts: [part, ...further] },
    samples: samples.map((sample) => ({ ...sample, part: 1 })),
    trays: answers.map((answer, person) => {
      const { cups } = flightTray(part, '', [2, 0, 1], []);
      return {
        assessor: `A${person + 1}`,
        part: 1,
        replicate: 1,
        cups: [...cups],
        ballots: answer ? [{ part: 1, sheet: 1, answer, comment: 'never exported' }] : [],
      };
    }),
    deviations: [],
    words: [['smoky', { word: 'Smoky', family: 'invented' }]],
  };
}

const values = (rows: TidyRow[]) =>
  rows.map(({ assessor, arm, position, question, value }) => [assessor, arm, position, question, value]);

test('ranks count from 1, the least, and are told of the cup that was put there', () => {
  const rows = tidyAnswers(
    session(ranking, [
      { kind: 'ranking', order: ['103', '101', '102'] },
      { kind: 'ranking', order: ['102', '103', '101'] },
    ]),
  );
  // Cup 101 holds the third arm, 102 the first, 103 the second.
  expect(values(rows)).toEqual([
    ['A1', 'Warm', 3, 'rank', 1],
    ['A1', 'Wild', 1, 'rank', 2],
    ['A1', 'Cool', 2, 'rank', 3],
    ['A2', 'Cool', 2, 'rank', 1],
    ['A2', 'Warm', 3, 'rank', 2],
    ['A2', 'Wild', 1, 'rank', 3],
  ]);
  expect(new Set(rows.map(({ unit }) => unit))).toEqual(new Set(['rank, 1 is least']));
  expect(Object.keys(rows[0]!).sort()).toEqual([...TIDY_COLUMNS].sort());
});

test('a sheet left unanswered is a row for each of its cups, without a value', () => {
  expect(values(tidyAnswers(session(ranking, [null])))).toEqual([
    ['A1', 'Wild', 1, 'no answer', null],
    ['A1', 'Cool', 2, 'no answer', null],
    ['A1', 'Warm', 3, 'no answer', null],
  ]);
});

test('people stand in the order of their labels as numbers, parts in the order asked', () => {
  const asked = session(
    ranking,
    Array.from({ length: 11 }, () => ({ kind: 'ranking', order: ['101', '102', '103'] })),
  );
  asked.trays.reverse();
  const order = [...new Set(tidyAnswers(asked).map(({ assessor }) => assessor))];
  expect(order).toEqual(Array.from({ length: 11 }, (_, at) => `A${at + 1}`));
});

test('a choice tells of each cup whether it was chosen, 1 or 0, and of the tray what was said of it', () => {
  const triangle: Part = {
    kind: 'triangle',
    armIds: [armId(0), armId(1)],
    replicates: 1,
    alpha: 0.05,
    aim: 'difference',
    meaningfulShare: 0.5,
    beta: 0.2,
  };
  const served = session(ranking, [
    { kind: 'choice', chosen: ['102'], confidence: 'guess', descriptors: ['smoky', 'unlisted'] },
  ]);
  const rows = tidyAnswers({ ...served, settings: { ...served.settings, parts: [triangle] } });
  expect(rows.map(({ position, question, value, unit }) => [position, question, value, unit])).toEqual([
    [1, 'chosen as the odd one', 0, '0 or 1'],
    [2, 'chosen as the odd one', 1, '0 or 1'],
    [3, 'chosen as the odd one', 0, '0 or 1'],
    [null, 'confidence', 'guess', ''],
    [null, 'told apart by', 'Smoky', ''],
    [null, 'told apart by', 'unlisted', ''],
  ]);
});

test('figures are named by the way to them; lists count from 1', () => {
  const document = analyseSession(session(ranking, [{ kind: 'ranking', order: ['103', '101', '102'] }]));
  const rows = figureRows(document);
  const figure = (name: string) => rows.find((row) => row.part === 1 && row.figure === name)?.value;
  expect(figure('samples.1.name')).toBe('Cool');
  expect(figure('samples.1.meanRank')).toBe(3);
  expect(figure('samples.2.meanRank')).toBe(1);
  expect(rows.some(({ figure: name }) => /\.0(\.|$)/.test(name))).toBe(false);
  expect(rows.some(({ figure: name }) => /^(methods|caveats|plan|kind|part)\b/.test(name))).toBe(false);
});
