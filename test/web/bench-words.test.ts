import { describe, expect, it } from 'vitest';
import type { SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import type { Board, BoardSeat } from '@oddglass/shared/contracts/board.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { Step } from '@oddglass/shared/contracts/seat.ts';
import { applyEvent, emptyBoard } from '@oddglass/shared/rules/board.ts';
import { afterSignIn, panelHere, tokenOf } from '../../web/src/lib/account/bench-place.ts';
import { wayOf } from '../../web/src/lib/session/seat-way.ts';
import {
  cupInHand,
  cupsToPour,
  ethanolSoFar,
  groupedCode,
  onlyHere,
  seatWords,
  unfinishedSeats,
  wayOfCups,
} from '../../web/src/lib/session/session-words.ts';
import { listed } from '../../shared/ground/phrases.ts';

const AT = '2026-03-14T19:42:00.000Z';

const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;
const TRIANGLE: Part = {
  kind: 'triangle',
  armIds: [uuid(1), uuid(2)],
  replicates: 2,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const FLIGHT = {
  cups: 'own',
  samples: [1, 2, 3, 4].map((n) => ({ armId: uuid(n), role: 'sample' as const, spike: null })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
} as const;
const RATING: Part = {
  ...FLIGHT,
  kind: 'rating',
  samples: [...FLIGHT.samples],
  attributes: [
    { id: 'sour', name: 'Sourness', low: 'none', high: 'very' },
    { id: 'sweet', name: 'Sweetness', low: 'none', high: 'very' },
  ],
  scale: 'line',
  by: 'sample',
  returning: true,
};
const DESCRIPTION: Part = {
  ...FLIGHT,
  kind: 'description',
  cups: 'before',
  samples: [],
  words: null,
  intensity: false,
};
const TWO_TRIANGLES = wayOf([TRIANGLE]);

/** A board of three expected seats and one spare after these events: two triangles each unless said otherwise. */
const boardOf = (parts: Part[], ...events: SessionEventBody[]): Board =>
  events.reduce<Board>(
    (board, event) => applyEvent(board, { seq: board.seq + 1, at: AT, event }),
    emptyBoard({ assessors: 3, spareSeats: 1, parts }),
  );
const boardAfter = (...events: SessionEventBody[]): Board => boardOf([TRIANGLE], ...events);
const seatOf = (board: Board, number: number): BoardSeat => {
  const seat = board.seats.find((one) => one.number === number);
  if (!seat) throw new Error(`no seat ${number}`);
  return seat;
};
const taken = (seat: number): SessionEventBody[] => [
  { kind: 'seat-taken', seat },
  { kind: 'cautions-confirmed', seat },
];
const step = (seat: number, trayNumber: number, at: Step, code: string | null = null) =>
  ({ kind: 'progress', seat, trayNumber, step: at, code }) as const;
const sent = (seat: number, trayNumber: number, part = 1, sheet = 1) =>
  ({ kind: 'ballot-received', seat, trayNumber, part, sheet }) as const;

describe('seat on the board', () => {
  it('says where an assessor is, tray by tray, and which cup is in hand', () => {
    const free = boardAfter();
    expect(seatWords(seatOf(free, 1), TWO_TRIANGLES)).toBe('free');
    expect(seatWords(seatOf(free, 4), TWO_TRIANGLES)).toBe('spare, free');
    expect(seatWords(seatOf(boardAfter({ kind: 'seat-taken', seat: 1 }), 1), TWO_TRIANGLES)).toBe(
      'reading the cautions',
    );

    const tasting = seatOf(boardAfter(...taken(1), step(1, 1, 'tasting', '386')), 1);
    expect(seatWords(tasting, TWO_TRIANGLES)).toBe('tray 1 of 2, tasting');
    expect(cupInHand(tasting, TWO_TRIANGLES)).toBe('386');
    expect(wayOfCups(tasting, TWO_TRIANGLES).map(([first]) => first)).toEqual(['in-hand', 'ahead']);
  });

  it('does not count a tray as answered before its ballot is in, and drops the cup then', () => {
    const choosing = seatOf(boardAfter(...taken(1), step(1, 1, 'choosing')), 1);
    expect(wayOfCups(choosing, TWO_TRIANGLES).map(([first]) => first)).toEqual(['tasted', 'ahead']);

    const after = boardAfter(...taken(1), step(1, 1, 'tasting', '386'), sent(1, 1));
    expect(seatWords(seatOf(after, 1), TWO_TRIANGLES)).toBe('between trays');
    expect(cupInHand(seatOf(after, 1), TWO_TRIANGLES)).toBeNull();
    expect(wayOfCups(seatOf(after, 1), TWO_TRIANGLES).map(([first]) => first)).toEqual(['answered', 'ahead']);
  });

  it('names the seats that have not finished, and no free ones', () => {
    const board = boardAfter(...taken(1), ...taken(3), sent(3, 1), step(3, 1, 'resting'), sent(3, 2));
    expect(seatWords(seatOf(board, 3), TWO_TRIANGLES)).toBe('finished');
    expect(unfinishedSeats(board)).toEqual([1]);
  });

  it('names part, tray and cup where there are several, and what is done with them', () => {
    const parts = [TRIANGLE, RATING, DESCRIPTION];
    const way = wayOf(parts);
    // Two triangles with one sheet each; four cups rated, then described, on the third tray.
    expect(way).toMatchObject({ parts: 3, sheets: 10, cups: 10 });
    const begun = [...taken(1), sent(1, 1), sent(1, 2)];
    const at = (...more: SessionEventBody[]): BoardSeat => seatOf(boardOf(parts, ...begun, ...more), 1);

    const tasting = at(step(1, 3, 'tasting', '519'));
    expect(seatWords(tasting, way)).toBe('part 2 of 3, tray 3 of 3, cup 1 of 4, tasting');
    expect(cupInHand(tasting, way)).toBe('519');
    const rating = at(sent(1, 3, 2, 1), step(1, 3, 'answering'));
    expect(seatWords(rating, way)).toBe('part 2 of 3, tray 3 of 3, cup 2 of 4, rating');
    const rated = [1, 2, 3, 4].map((sheet) => sent(1, 3, 2, sheet));
    const describing = at(...rated, step(1, 3, 'answering'));
    expect(seatWords(describing, way)).toBe('part 3 of 3, tray 3 of 3, cup 1 of 4, choosing words');
    // Four of eight sheets: half the cups are filled, and one is in hand.
    expect(wayOfCups(describing, way)[2]).toEqual(['answered', 'answered', 'tasted', 'ahead']);
    const described = [1, 2, 3, 4].map((sheet) => sent(1, 3, 3, sheet));
    expect(seatWords(at(...rated, ...described), way)).toBe('finished');
    expect(unfinishedSeats(boardOf(parts, ...begun, ...rated))).toEqual([1]);
  });

  it('goes through attributes where they are asked across the flight, and names no tray when there is one', () => {
    const parts = [{ ...RATING, by: 'attribute' } as const];
    const board = boardOf(parts, ...taken(1), sent(1, 1), step(1, 1, 'answering'));
    expect(seatWords(seatOf(board, 1), wayOf(parts))).toBe('attribute 2 of 2, rating');
  });

  it('asks for the cups of expected seats, and of a spare one once it is taken', () => {
    expect(cupsToPour(boardAfter())).toBe(3 * 6);
    expect(cupsToPour(boardAfter({ kind: 'seat-taken', seat: 4 }))).toBe(4 * 6);
  });
});

describe('ethanol so far', () => {
  const strongest = 5;

  it('is that of the seat furthest along with the strongest cup throughout', () => {
    expect(ethanolSoFar(boardAfter(), TWO_TRIANGLES, { cupMl: 40, strongest })).toBe(0);
    const board = boardAfter(...taken(1), sent(1, 1), step(1, 2, 'tasting', '519'));
    // Six cups of 40 mL at 5 %: 12 mL of ethanol, 0.789 g/mL at 20 C (handbook value, from memory).
    expect(ethanolSoFar(board, TWO_TRIANGLES, { cupMl: 40, strongest })).toBeCloseTo(12 * 0.789, 12);
  });

  it('is unknown when the strongest cup is, never nought', () => {
    expect(ethanolSoFar(boardAfter(), TWO_TRIANGLES, { cupMl: 40, strongest: null })).toBeNull();
  });
});

describe('words and addresses', () => {
  it('groups a join code by four and lists seats as they are spoken', () => {
    expect(groupedCode('KD7M4QXA')).toBe('KD7M·4QXA');
    expect([listed([]), listed([2]), listed([2, 4]), listed([2, 4, 8])]).toEqual([
      '',
      '2',
      '2 and 4',
      '2, 4 and 8',
    ]);
  });

  it('knows the addresses that no tablet can open', () => {
    expect(['localhost', '127.0.0.1', '[::1]'].every(onlyHere)).toBe(true);
    expect(['192.168.1.20', 'cellar.example', 'localhost.example'].some(onlyHere)).toBe(false);
  });

  it('goes nowhere but to the bench after signing in', () => {
    expect(afterSignIn('/bench/session/1b2c-3d')).toBe('/bench/session/1b2c-3d');
    for (const foreign of [
      null,
      '',
      'https://elsewhere.example',
      '//elsewhere.example',
      '/bench//elsewhere.example'.slice(6),
      '/bench\\x',
      '/benchmark',
      'javascript:alert(1)',
    ]) {
      expect(afterSignIn(foreign)).toBe('/bench');
    }
  });

  it('takes a token out of a fragment only when it is whole', () => {
    expect(tokenOf('#AAAAAAAAAAAAAAAAAAAA-_')).toBe('AAAAAAAAAAAAAAAAAAAA-_');
    expect([tokenOf(''), tokenOf('#short'), tokenOf('#AAAAAAAAAAAAAAAAAAAAAA<')]).toEqual([
      undefined,
      undefined,
      undefined,
    ]);
  });

  it('finds the panel of a page in whatever the page loaded', () => {
    const inside = { panelId: 'p', panelName: 'Cellar' };
    const found = { id: 'p', name: 'Cellar' };
    expect(panelHere({ actor: null, panel: { ...found, role: 'host' } })).toEqual(found);
    expect(panelHere({ session: inside })).toEqual(found);
    expect(panelHere({ trial: inside })).toEqual(found);
    expect([panelHere({}), panelHere(undefined), panelHere({ session: { title: 'x' } })]).toEqual([
      undefined,
      undefined,
      undefined,
    ]);
  });
});
