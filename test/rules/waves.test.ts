import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { sessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import { emptyBoard, foldBoard } from '@oddglass/shared/rules/board.ts';
import { actionsFor, mayAct } from '@oddglass/shared/rules/session.ts';
import {
  isCalled,
  nextWave,
  seatsOfWave,
  waveCount,
  waveOfSeat,
  wavesOf,
} from '@oddglass/shared/rules/waves.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const seating = (assessors: number, spareSeats: number, seatsAtOnce?: number) => ({
  assessors,
  spareSeats,
  ...(seatsAtOnce !== undefined && { seatsAtOnce }),
});
const part: TrianglePart = {
  kind: 'triangle',
  armIds: ['8c1f2f0e-6a0e-4b4e-9c31-5ad2cf3c5d01', '8c1f2f0e-6a0e-4b4e-9c31-5ad2cf3c5d02'],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};

describe('the seats of a wave', () => {
  test('fifteen people at four tablets sit in four waves, the last of three', () => {
    const waves = wavesOf(seating(15, 0, 4), 1)!;
    expect(waveCount(waves)).toBe(4);
    expect([1, 2, 3, 4].map((wave) => seatsOfWave(waves, wave))).toEqual([
      { from: 1, to: 4 },
      { from: 5, to: 8 },
      { from: 9, to: 12 },
      { from: 13, to: 15 },
    ]);
  });

  test('every seat is in one wave, no wave is empty or larger than there is room, and spare seats come last', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 200 }),
        fc.integer({ min: 0, max: 100 }),
        fc.integer({ min: 1, max: 200 }),
        (assessors, spareSeats, seatsAtOnce) => {
          const seats = assessors + spareSeats;
          const waves = wavesOf(seating(assessors, spareSeats, seatsAtOnce), 1);
          expect(waves === null).toBe(seatsAtOnce >= seats);
          if (!waves) return;
          const listed: number[] = [];
          for (let wave = 1; wave <= waveCount(waves); wave += 1) {
            const { from, to } = seatsOfWave(waves, wave);
            expect(to).toBeGreaterThanOrEqual(from);
            expect(to - from).toBeLessThan(seatsAtOnce);
            for (let seat = from; seat <= to; seat += 1) {
              expect(waveOfSeat(waves, seat)).toBe(wave);
              listed.push(seat);
            }
          }
          expect(listed).toEqual(Array.from({ length: seats }, (_, at) => at + 1));
          if (spareSeats > 0) {
            expect(waveOfSeat(waves, assessors + 1)).toBeGreaterThanOrEqual(waveOfSeat(waves, assessors));
            expect(waveOfSeat(waves, seats)).toBe(waveCount(waves));
          }
        },
      ),
    );
  });

  test('where there is room for all it is no wave at all, and nothing is held back', () => {
    for (const plan of [seating(12, 2), seating(12, 2, 14), seating(12, 2, 200)]) {
      expect(wavesOf(plan, null)).toBeNull();
      expect(isCalled(wavesOf(plan, null), 14)).toBe(true);
    }
    expect(wavesOf(seating(12, 2, 13), null)).not.toBeNull();
  });

  test('seats of waves called earlier stay open, those to come do not', () => {
    const called = (wave: number) =>
      Array.from({ length: 15 }, (_, at) => at + 1).filter((seat) =>
        isCalled(wavesOf(seating(15, 0, 4), wave), seat),
      ).length;
    expect([0, 1, 2, 3, 4].map(called)).toEqual([0, 4, 8, 12, 15]);
  });

  test('one wave follows the other until all are called', () => {
    expect([0, 1, 2, 3, 4].map((wave) => nextWave(wavesOf(seating(15, 0, 4), wave)!))).toEqual([
      1,
      2,
      3,
      4,
      null,
    ]);
  });
});

describe('calling a wave', () => {
  const open = { state: 'open', blinding: 'double' } as const;

  test('is for host and steward, while the tasting is open and a wave is left', () => {
    const settings = seating(15, 0, 4);
    for (const role of ['host', 'steward'] as const) {
      expect(mayAct({ ...open, settings, wave: 1 }, role, 'call-wave')).toBe(true);
      expect(mayAct({ ...open, settings, wave: 1, blinding: 'single' }, role, 'call-wave')).toBe(true);
      expect(mayAct({ ...open, settings, wave: 4 }, role, 'call-wave')).toBe(false);
      expect(mayAct({ ...open, settings: seating(15, 0), wave: null }, role, 'call-wave')).toBe(false);
      for (const state of ['draft', 'sealed', 'closed', 'revealed'] as const)
        expect(mayAct({ ...open, state, settings, wave: 1 }, role, 'call-wave')).toBe(false);
    }
  });

  test('changes nothing else of what may be done', () => {
    const settings = seating(15, 0, 4);
    for (const role of ['host', 'steward'] as const) {
      expect(actionsFor({ ...open, settings, wave: 1 }, role).filter((one) => one !== 'call-wave')).toEqual(
        actionsFor(open, role),
      );
    }
  });
});

describe('the board', () => {
  const log = (...events: SessionEventBody[]) =>
    events.map((event, at) => ({ seq: at + 1, at: '2031-03-04T18:00:00.000Z', event }));
  const board = (seatsAtOnce: number | undefined, ...events: SessionEventBody[]) =>
    foldBoard(emptyBoard({ ...seating(15, 0, seatsAtOnce), parts: [part] }), log(...events));

  test('has the wave that is called: none before the opening, the first by it, then one after the other', () => {
    expect(board(4).waves).toEqual({ seatsAtOnce: 4, seats: 15, called: 0 });
    expect(board(4, { kind: 'sealed' }, { kind: 'opened' }).waves?.called).toBe(1);
    const later = board(4, { kind: 'opened' }, { kind: 'wave-called', wave: 2 }, { kind: 'closed' });
    expect(later.waves?.called).toBe(2);
    expect(later.state).toBe('closed');
  });

  test('says nothing of waves where everybody sits at once', () => {
    for (const at of [undefined, 15, 40]) {
      expect('waves' in board(at, { kind: 'sealed' }, { kind: 'opened' })).toBe(false);
    }
  });

  test('keeps what a seat answered when its tablet is handed on', () => {
    const seat = { seat: 3 };
    const { seats } = board(
      4,
      { kind: 'opened' },
      { kind: 'seat-taken', ...seat },
      { kind: 'ballot-received', ...seat, trayNumber: 1, part: 1, sheet: 1 },
      { kind: 'progress', ...seat, trayNumber: 1, step: 'finished', code: null },
      { kind: 'tablet-passed-on', ...seat },
    );
    expect(seats[2]).toMatchObject({ status: 'finished', answered: 1, online: false });
  });
});

test('seats at a time are a whole number from 1 to 200, or left out', () => {
  const plan: SessionSettings = {
    title: 'Pale beer',
    assessors: 15,
    spareSeats: 0,
    cupMl: 40,
    restSeconds: 0,
    masking: false,
    servingNote: '',
    parts: [part],
  };
  const fits = (seatsAtOnce: unknown) => sessionSettings.safeParse({ ...plan, seatsAtOnce }).success;
  expect([1, 4, 200, undefined].map(fits)).toEqual([true, true, true, true]);
  expect([0, -1, 2.5, 201, null, '4'].map(fits)).toEqual([false, false, false, false, false, false]);
});
