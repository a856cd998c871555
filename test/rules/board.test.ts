import type { SessionEvent, SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { applyEvent, boardTotals, emptyBoard, foldBoard } from '@oddglass/shared/rules/board.ts';
import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import fc from 'fast-check';
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

describe('what one event does', () => {
  const before = foldBoard(emptyBoard(settings), log({ kind: 'opened' }, { kind: 'seat-taken', seat: 3 }));
  const after = (event: SessionEventBody, board = before) =>
    applyEvent(board, { seq: board.seq + 1, at: '2031-03-04T19:00:00.000Z', event });

  test('before any, every seat is free and nobody is there', () => {
    const { seats } = emptyBoard(settings);
    expect(seats.map(({ status, online, answered }) => [status, online, answered])).toEqual(
      Array.from({ length: 4 }, () => ['free', false, 0]),
    );
  });

  test.each([
    ['sealed', 'sealed'],
    ['opened', 'open'],
    ['closed', 'closed'],
    ['revealed', 'revealed'],
  ] as const)('%s: the session is %s, and the seats stay', (kind, state) => {
    const openedAt = kind === 'opened' ? '2031-03-04T19:00:00.000Z' : before.openedAt;
    expect(after({ kind })).toEqual({ ...before, seq: 3, state, openedAt });
  });

  test('key opened: by whom, and when', () => {
    const opened = after({ kind: 'key-opened', name: 'Steward' });
    expect(opened).toEqual({
      ...before,
      seq: 3,
      keyOpenings: [{ name: 'Steward', at: expect.stringMatching(/^20\d\d-/) as string }],
    });
  });
  test('poured: so many cups in all', () => {
    expect(after({ kind: 'poured', cups: 5 })).toEqual({ ...before, seq: 3, poured: 5 });
  });

  test.each([{ kind: 'key-taken' }, { kind: 'tasting-resumed' }, { kind: 'join-code-changed' }] as const)(
    '$kind: nothing on the board, and the seats need not be drawn again',
    (event) => {
      const board = after(event);
      expect(board).toEqual({ ...before, seq: 3 });
      expect(board.seats).toBe(before.seats);
    },
  );

  const taken = before.seats[2];
  const tasting = {
    ...taken,
    status: 'tasting' as const,
    online: true,
    trayNumber: 2,
    code: '417',
    answered: 1,
  };
  test.each<[SessionEventBody, object]>([
    [
      { kind: 'seat-taken', seat: 3 },
      { status: 'cautions', online: true },
    ],
    [{ kind: 'seat-handed-over', seat: 3 }, { online: false }],
    [{ kind: 'seat-moved', seat: 3 }, { online: false }],
    [
      { kind: 'seat-freed', seat: 3 },
      { status: 'free', online: false, trayNumber: 1, code: null, answered: 0 },
    ],
    [{ kind: 'seat-offline', seat: 3 }, { online: false }],
    [
      { kind: 'cautions-confirmed', seat: 3 },
      { status: 'tasting', trayNumber: 1, code: null },
    ],
    [
      { kind: 'progress', seat: 3, trayNumber: 2, step: 'choosing', code: '238' },
      { status: 'choosing', code: '238' },
    ],
    [
      { kind: 'ballot-received', seat: 3, trayNumber: 2, part: 1, sheet: 1 },
      { answered: 2, code: null },
    ],
    [
      { kind: 'seat-withdrawn', seat: 3 },
      { status: 'withdrawn', online: false, code: null, answered: 0 },
    ],
  ])('%j changes that seat and no other', (event, change) => {
    const seats = before.seats.map((seat) => (seat.number === 3 ? { ...seat, ...tasting } : seat));
    const board = after(event, { ...before, seats });
    expect(board.seats[2]).toEqual({ ...tasting, ...change });
    expect(board.seats.toSpliced(2, 1)).toEqual(before.seats.toSpliced(2, 1));
    expect(board.seq).toBe(3);
  });

  test('a tablet comes back', () => {
    const away = after({ kind: 'seat-offline', seat: 3 });
    expect(away.seats[2]?.online).toBe(false);
    expect(after({ kind: 'seat-online', seat: 3 }, away).seats[2]).toEqual(taken);
  });

  test('a seat has finished when all its sheets are answered', () => {
    const ballot = (seat: number) => ({
      kind: 'ballot-received' as const,
      seat,
      trayNumber: 1,
      part: 1,
      sheet: 1,
    });
    const both = after({ kind: 'seat-taken', seat: 1 });
    const board = foldBoard({ ...both, seq: 0 }, log(ballot(1), ballot(3), ballot(3)));
    expect(boardTotals(board)).toEqual({
      seated: 2,
      finished: 1,
      answered: 3,
      sheetsOfSeated: 4,
      expected: 3,
    });
  });
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
