import { describe, expect, it } from 'vitest';
import type { BenchMessage, SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import { emptyBoard, foldBoard } from '@oddglass/shared/rules/board.ts';
import { hear, liveAddress, type BoardFeed } from '../../web/src/lib/session/board-feed.ts';

const AT = '2026-03-14T19:42:00.000Z';
const bodies: SessionEventBody[] = [
  { kind: 'sealed' },
  { kind: 'opened' },
  { kind: 'seat-taken', seat: 1 },
  { kind: 'cautions-confirmed', seat: 1 },
  { kind: 'progress', seat: 1, trayNumber: 1, step: 'tasting', code: '386' },
  { kind: 'seat-offline', seat: 1 },
  { kind: 'ballot-received', seat: 1, trayNumber: 1, part: 1, sheet: 1 },
  { kind: 'poured', cups: 9 },
];
const log = bodies.map((event, index) => ({ seq: index + 1, at: AT, event }));
const start = emptyBoard({
  assessors: 3,
  spareSeats: 1,
  parts: [
    {
      kind: 'preference',
      armIds: ['00000000-0000-4000-8000-000000000001', '00000000-0000-4000-8000-000000000002'],
      alpha: 0.05,
      noPreference: false,
    },
  ],
});
const asEvent = (seq: number): BenchMessage => {
  const event = log[seq - 1];
  if (!event) throw new Error(`no event ${seq}`);
  return { type: 'event', event };
};
const fresh: BoardFeed = { board: start, whole: true };
const listen = (feed: BoardFeed, ...seqs: number[]): BoardFeed =>
  seqs.reduce<BoardFeed>((so, seq) => hear(so, asEvent(seq)), feed);

describe('live board', () => {
  it('ends where the whole log ends, with some events heard twice', () => {
    const feed = listen(fresh, 1, 2, 2, 3, 1, 4, 5, 6, 7, 7, 8);
    expect(feed).toMatchObject({ board: foldBoard(start, log), whole: true });
  });

  it('goes on from the last event after a break', () => {
    const feed = listen(fresh, 1, 2, 3);
    expect(liveAddress('s', feed)).toBe('/api/sessions/s/live?after=3');
    expect(listen(feed, 4, 5, 6, 7, 8).board).toEqual(foldBoard(start, log));
  });

  it('takes nothing after a gap and asks for a snapshot', () => {
    const torn = listen(fresh, 1, 2, 5, 6);
    expect(torn.board).toEqual(foldBoard(start, log.slice(0, 2)));
    expect(torn.whole).toBe(false);
    expect(liveAddress('s', torn)).toBe('/api/sessions/s/live');
    // Not even the next in order, until the snapshot is there: the way is not trusted.
    expect(listen(torn, 3).board.seq).toBe(2);

    const mended = hear(torn, { type: 'snapshot', board: foldBoard(start, log.slice(0, 6)) });
    expect(listen(mended, 7, 8)).toMatchObject({ board: foldBoard(start, log), whole: true });
  });

  it('tells of a step of the session once, and of nothing else', () => {
    const steps = log.map(
      ({ seq }) => hear(listen(fresh, ...log.slice(0, seq - 1).map((e) => e.seq)), asEvent(seq)).stepped,
    );
    expect(steps.map((stepped, index) => (stepped ? index + 1 : 0)).filter(Boolean)).toEqual([2]);
    const open = listen(fresh, 1, 2);
    expect(hear(open, asEvent(2)).stepped).toBe(false);
    // What pour lists hear changes no board.
    expect(hear(open, { type: 'pour-list' })).toEqual({ ...open, stepped: false });
    const closed = foldBoard(open.board, [{ seq: 3, at: AT, event: { kind: 'closed' } }]);
    expect(hear(open, { type: 'snapshot', board: closed }).stepped).toBe(true);
  });
});
