import type { SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { emptyBoard, foldBoard } from '@oddglass/shared/rules/board.ts';
import { describe, expect, it } from 'vitest';
import {
  boardWaves,
  isOver,
  seatsInWords,
  stillAtIt,
  waveWords,
} from '../../web/src/lib/session/board-waves.ts';

const part = {
  kind: 'triangle' as const,
  armIds: ['one', 'two'],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference' as const,
  meaningfulShare: 0.5,
  beta: 0.2,
};

const boardAfter = (seatsAtOnce: number | undefined, ...events: SessionEventBody[]) =>
  foldBoard(
    emptyBoard({ assessors: 5, spareSeats: 1, parts: [part], ...(seatsAtOnce && { seatsAtOnce }) }),
    events.map((event, at) => ({ seq: at + 1, at: '2031-03-04T18:00:00.000Z', event })),
  );
const sits = (seat: number): SessionEventBody => ({ kind: 'seat-taken', seat });
const answers = (seat: number): SessionEventBody => ({
  kind: 'ballot-received',
  seat,
  trayNumber: 1,
  part: 1,
  sheet: 1,
});
const opened: SessionEventBody = { kind: 'opened' };
const wordsOf = (...events: SessionEventBody[]) => boardWaves(boardAfter(2, ...events)).map(waveWords);

describe('the board wave by wave', () => {
  it('is no waves where everybody sits at once', () => {
    expect(boardWaves(boardAfter(undefined, opened))).toEqual([]);
    expect(isOver(boardWaves(boardAfter(undefined, opened)))).toBe(false);
  });

  it('says of each wave which seats it has, whether it is called, and how many have finished', () => {
    expect(wordsOf()).toEqual([
      'Wave 1, seats 1 to 2: not called yet',
      'Wave 2, seats 3 to 4: not called yet',
      'Wave 3, seats 5 to 6: not called yet',
    ]);
    expect(wordsOf(opened)[0]).toBe('Wave 1, seats 1 to 2: nobody has sat down');
    expect(wordsOf(opened, sits(1), sits(2), answers(2))[0]).toBe('Wave 1, seats 1 to 2: 1 of 2 finished');
    expect(wordsOf(opened, sits(1), { kind: 'wave-called', wave: 2 })).toEqual([
      'Wave 1, seats 1 to 2: 0 of 1 finished',
      'Wave 2, seats 3 to 4: nobody has sat down',
      'Wave 3, seats 5 to 6: not called yet',
    ]);
    expect(seatsInWords({ from: 9, to: 9 })).toBe('seat 9');
  });

  it('counts who withdrew, and whose ballot on paper counts, as finished', () => {
    const [first] = boardWaves(
      boardAfter(
        2,
        opened,
        sits(1),
        { kind: 'seat-withdrawn', seat: 1 },
        { kind: 'seat-on-paper', seat: 2 },
        { kind: 'paper-entered', seat: 2, standing: 'counts', answered: 1 },
      ),
    );
    expect([first?.taken, first?.finished]).toEqual([2, 2]);
  });
});

describe('before the next wave is called', () => {
  const after = (...events: SessionEventBody[]) => boardWaves(boardAfter(2, opened, ...events));
  it('a wave is over once all who sat down in it have finished, and somebody did', () => {
    expect(isOver(after())).toBe(false);
    expect(isOver(after(sits(1)))).toBe(false);
    expect(isOver(after(sits(1), answers(1)))).toBe(true);
    expect(isOver(after(sits(1), answers(1), sits(2)))).toBe(false);
    expect(isOver(after(sits(1), answers(1), { kind: 'wave-called', wave: 2 }))).toBe(false);
  });

  it('whoever calls reads who has not finished and whose seat was not taken; spare seats are nobody’s', () => {
    const said = (...events: SessionEventBody[]) => stillAtIt(after(...events), 1);
    expect(said()).toBe('Seats 1 and 2 have not been taken.');
    expect(said(sits(1))).toBe('Seat 1 has not finished. Seat 2 has not been taken.');
    expect(said(sits(1), sits(2), answers(1), answers(2))).toBeNull();
    const last = [
      ...[1, 2, 3, 4, 5].flatMap((seat) => [sits(seat), answers(seat)]),
      { kind: 'wave-called', wave: 3 } as const,
    ];
    expect(said(...last)).toBeNull();
  });
});
