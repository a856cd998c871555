import type { SessionEvent, SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { applyEvent, boardTotals, emptyBoard, foldBoard } from '@oddglass/shared/rules/board.ts';
import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import fc from 'fast-check';
import { expect, test } from 'vitest';

const triangle: TrianglePart = {
  kind: 'triangle',
  armIds: ['one', 'two'],
  replicates: 2,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const settings = { assessors: 3, spareSeats: 1, parts: [triangle] };
const log = (...events: SessionEventBody[]): SessionEvent[] =>
  events.map((event, index) => ({ seq: index + 1, at: '2031-03-04T18:00:00.000Z', event }));

const evening = log(
  { kind: 'sealed' },
  { kind: 'opened' },
  { kind: 'seat-taken', seat: 2 },
  { kind: 'cautions-confirmed', seat: 2 },
  { kind: 'progress', seat: 2, trayNumber: 1, step: 'tasting', code: '417' },
  { kind: 'poured', cups: 7 },
  { kind: 'ballot-received', seat: 2, trayNumber: 1, part: 1, sheet: 1 },
  { kind: 'progress', seat: 2, trayNumber: 1, step: 'resting', code: null },
  { kind: 'seat-offline', seat: 2 },
  // Last what does not bear hearing twice: a ballot counts.
  { kind: 'ballot-received', seat: 2, trayNumber: 2, part: 1, sheet: 1 },
);

test('the board is a fold of the log', () => {
  const board = foldBoard(emptyBoard(settings), evening);
  expect(board).toMatchObject({ seq: 10, state: 'open', poured: 7, cupsPerSeat: 6 });
  expect(board.seats[1]).toEqual({
    number: 2,
    spare: false,
    status: 'resting',
    online: false,
    trayNumber: 1,
    code: null,
    answered: 2,
  });
  expect(board.seats.map(({ spare }) => spare)).toEqual([false, false, false, true]);
  expect(boardTotals(board)).toEqual({ seated: 1, finished: 1, answered: 2, sheetsOfSeated: 2, expected: 3 });
});

test('hearing events again, or late, changes nothing', () => {
  const whole = foldBoard(emptyBoard(settings), evening);
  fc.assert(
    fc.property(fc.array(fc.constantFrom(...evening)), (again) => {
      expect(foldBoard(whole, again)).toEqual(whole);
    }),
  );
});

test('a seat that withdrew stays withdrawn, whatever its tablet says late', () => {
  const whole = log(...evening.map(({ event }) => event), { kind: 'seat-withdrawn', seat: 2 });
  const told = foldBoard(emptyBoard(settings), whole);
  const withdrawn = {
    number: 2,
    spare: false,
    status: 'withdrawn',
    online: false,
    trayNumber: 1,
    code: null,
    answered: 0,
  };
  expect(told.seats[1]).toEqual(withdrawn);
  expect(boardTotals(told)).toMatchObject({ seated: 0, finished: 0, answered: 0, sheetsOfSeated: 0 });
  const late: SessionEventBody[] = [
    { kind: 'seat-taken', seat: 2 },
    { kind: 'seat-handed-over', seat: 2 },
    { kind: 'seat-online', seat: 2 },
    { kind: 'seat-offline', seat: 2 },
    { kind: 'cautions-confirmed', seat: 2 },
    { kind: 'progress', seat: 2, trayNumber: 2, step: 'finished', code: '417' },
    { kind: 'ballot-received', seat: 2, trayNumber: 2, part: 1, sheet: 1 },
  ];
  for (const event of late) {
    const board = applyEvent(told, { seq: told.seq + 1, at: '2031-03-04T19:00:00.000Z', event });
    expect(board, event.kind).toEqual({ ...told, seq: told.seq + 1 });
  }
});

test('a break at any place is made good by the events after it', () => {
  const whole = foldBoard(emptyBoard(settings), evening);
  for (let heard = 0; heard <= evening.length; heard++) {
    const before = foldBoard(emptyBoard(settings), evening.slice(0, heard));
    expect(foldBoard(before, evening.slice(before.seq))).toEqual(whole);
  }
});

test('an event leaves the board it was applied to untouched', () => {
  const before = emptyBoard(settings);
  const copy = structuredClone(before);
  for (const event of evening) applyEvent(before, { ...event, seq: 1 });
  expect(before).toEqual(copy);
});
