import { describe, expect, it } from 'vitest';
import type { Board, BoardSeat, SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { applyEvent, emptyBoard } from '@oddglass/shared/rules/board.ts';
import { afterSignIn, panelHere, tokenOf } from '../../web/src/lib/account/bench-place.ts';
import {
  cupInHand,
  cupsToPour,
  ethanolSoFar,
  groupedCode,
  listed,
  onlyHere,
  seatWords,
  unfinishedSeats,
  wayOfCups,
} from '../../web/src/lib/session/session-words.ts';

const AT = '2026-03-14T19:42:00.000Z';

/** A board of three expected seats and one spare, two trays each, after these events. */
function boardAfter(...events: SessionEventBody[]): Board {
  return events.reduce<Board>(
    (board, event) => applyEvent(board, { seq: board.seq + 1, at: AT, event }),
    emptyBoard({ assessors: 3, spareSeats: 1, replicates: 2 }),
  );
}
const seatOf = (board: Board, number: number): BoardSeat => {
  const seat = board.seats.find((one) => one.number === number);
  if (!seat) throw new Error(`no seat ${number}`);
  return seat;
};
const taken = (seat: number): SessionEventBody[] => [
  { kind: 'seat-taken', seat },
  { kind: 'cautions-confirmed', seat },
];
const step = (
  seat: number,
  replicate: number,
  at: 'tasting' | 'choosing' | 'resting',
  code: string | null = null,
) => ({ kind: 'progress', seat, replicate, step: at, code }) as const;

describe('seat on the board', () => {
  it('says where an assessor is, tray by tray, and which cup is in hand', () => {
    const free = boardAfter();
    expect(seatWords(seatOf(free, 1), 2)).toBe('free');
    expect(seatWords(seatOf(free, 4), 2)).toBe('spare, free');
    expect(seatWords(seatOf(boardAfter({ kind: 'seat-taken', seat: 1 }), 1), 2)).toBe('reading the cautions');

    const tasting = seatOf(boardAfter(...taken(1), step(1, 1, 'tasting', '386')), 1);
    expect(seatWords(tasting, 2)).toBe('tray 1 of 2, tasting');
    expect(cupInHand(tasting)).toBe('386');
    expect(wayOfCups(tasting, 2).map(([first]) => first)).toEqual(['in-hand', 'ahead']);
  });

  it('does not count a tray as answered before its ballot is in, and drops the cup then', () => {
    const choosing = seatOf(boardAfter(...taken(1), step(1, 1, 'choosing')), 1);
    expect(wayOfCups(choosing, 2).map(([first]) => first)).toEqual(['tasted', 'ahead']);

    const sent = boardAfter(...taken(1), step(1, 1, 'tasting', '386'), {
      kind: 'ballot-received',
      seat: 1,
      replicate: 1,
    });
    expect(seatWords(seatOf(sent, 1), 2)).toBe('between trays');
    expect(cupInHand(seatOf(sent, 1))).toBeNull();
    expect(wayOfCups(seatOf(sent, 1), 2).map(([first]) => first)).toEqual(['answered', 'ahead']);
  });

  it('names the seats that have not finished, and no free ones', () => {
    const board = boardAfter(
      ...taken(1),
      ...taken(3),
      { kind: 'ballot-received', seat: 3, replicate: 1 },
      step(3, 1, 'resting'),
      { kind: 'ballot-received', seat: 3, replicate: 2 },
    );
    expect(seatWords(seatOf(board, 3), 2)).toBe('finished');
    expect(unfinishedSeats(board)).toEqual([1]);
  });

  it('asks for the cups of expected seats, and of a spare one once it is taken', () => {
    expect(cupsToPour(boardAfter())).toBe(3 * 6);
    expect(cupsToPour(boardAfter({ kind: 'seat-taken', seat: 4 }))).toBe(4 * 6);
  });
});

describe('ethanol so far', () => {
  const arms = [{ abv: 4 }, { abv: 5 }];

  it('is that of the seat furthest along with the stronger arm in every cup', () => {
    expect(ethanolSoFar(boardAfter(), 40, arms)).toBe(0);
    const board = boardAfter(
      ...taken(1),
      { kind: 'ballot-received', seat: 1, replicate: 1 },
      step(1, 2, 'tasting', '519'),
    );
    // Six cups of 40 mL at 5 %: 12 mL of ethanol, 0.789 g/mL at 20 C (handbook value, from memory).
    expect(ethanolSoFar(board, 40, arms)).toBeCloseTo(12 * 0.789, 12);
  });

  it('is unknown when one arm is, never nought', () => {
    expect(ethanolSoFar(boardAfter(), 40, [{ abv: 4 }, { abv: null }])).toBeNull();
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
