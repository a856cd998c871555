import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { BallotInput, BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import { PROBLEMS, type ProblemName } from '@oddglass/shared/contracts/problem.ts';
import { ApiProblem, NoAnswer } from '../../web/src/lib/api/client.ts';
import { sheetKey } from '../../web/src/lib/seat/tray/sheets.ts';
import {
  Outbox,
  afterFailure,
  type BallotStore,
  type KeptBallot,
} from '../../web/src/lib/seat/keep/outbox.ts';

const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;
const TOKEN = 'a'.repeat(22);

const refusal = (name: ProblemName, stored?: BallotReceipt): ApiProblem =>
  new ApiProblem({
    type: `/problems/${name}`,
    title: PROBLEMS[name].title,
    status: PROBLEMS[name].status,
    detail: `Refused as ${name}.`,
    instance: 'urn:uuid:x',
    ...(stored ? { stored } : {}),
  });

function kept(tray: number, change: Partial<KeptBallot> = {}, sheet = 1): KeptBallot {
  const ballot: BallotInput = {
    id: uuid(100 * sheet + tray),
    trayId: uuid(tray),
    part: 1,
    sheet,
    answer: { kind: 'choice', chosen: ['417'], confidence: 'guess', descriptors: [] },
    comment: '',
  };
  return {
    ballot,
    seatToken: TOKEN,
    seat: 7,
    trayNumber: tray,
    name: `tray ${tray}`,
    title: 'Invented ale',
    keptAt: tray,
    state: 'waiting',
    detail: '',
    ...change,
  };
}
const receiptOf = (ballot: BallotInput): BallotReceipt => ({
  ...ballot,
  trayNumber: 1,
  receivedAt: '2026-01-01T00:00:00.000Z',
});

const keyOf = (tray: number, sheet = 1): string => sheetKey({ trayId: uuid(tray), part: 1, sheet });

/** An outbox over a plain map, with a log of what happened in which order. */
function setUp(answer: (ballot: BallotInput, seatToken: string, attempt: number) => Promise<BallotReceipt>) {
  const disk = new Map<string, KeptBallot>();
  const log: string[] = [];
  let broken = false;
  let attempts = 0;
  const store: BallotStore = {
    async read() {
      return [...disk.values()];
    },
    async write(value) {
      if (broken) throw new Error('no room');
      log.push(`write ${value.state}`);
      disk.set(sheetKey(value.ballot), value);
    },
    async remove(key) {
      log.push('remove');
      disk.delete(key);
    },
  };
  const seen = {
    kept: [] as KeptBallot[],
    receipts: [] as BallotReceipt[],
    others: [] as BallotReceipt[],
    storeRefused: 0,
  };
  const outbox = new Outbox({
    store,
    send: async (seatToken, ballot) => {
      log.push('send');
      attempts += 1;
      return answer(ballot, seatToken, attempts);
    },
    newId: () => uuid(999),
    chance: () => 0,
    onChange: (list) => (seen.kept = list),
    onReceipt: (receipt) => {
      log.push('receipt');
      seen.receipts.push(receipt);
    },
    onOther: (stored) => seen.others.push(stored),
    onStoreRefused: () => (seen.storeRefused += 1),
  });
  return { outbox, disk, log, seen, breakStore: () => (broken = true) };
}

beforeEach(() => vi.useFakeTimers());
afterEach(() => vi.useRealTimers());

describe('what a failed try means', () => {
  it('no answer, a lost database and a limit say nothing about the ballot: it is tried again', () => {
    expect(afterFailure(new NoAnswer('gone'))).toEqual({ kind: 'retry' });
    expect(afterFailure(new TypeError('an answer outside the contract'))).toEqual({ kind: 'retry' });
    for (const name of ['database-away', 'internal', 'too-many-attempts', 'cautions-open'] as const) {
      expect(afterFailure(refusal(name)), name).toEqual({ kind: 'retry' });
    }
  });

  it('a refusal that will not change keeps the ballot and says why', () => {
    const states = {
      'wrong-state': 'not-counted',
      'seat-unknown': 'seat-lost',
      'cup-not-on-tray': 'refused',
      'invalid-input': 'refused',
      'not-found': 'refused',
    } as const;
    for (const name of Object.keys(states) as (keyof typeof states)[]) {
      expect(afterFailure(refusal(name))).toEqual({
        kind: 'stay',
        state: states[name],
        detail: `Refused as ${name}.`,
      });
    }
  });

  it('another answer for the sheet stands; an id in use elsewhere is only replaced', () => {
    const stored = receiptOf(kept(1).ballot);
    expect(afterFailure(refusal('ballot-differs', stored))).toEqual({ kind: 'other-stands', stored });
    expect(afterFailure(refusal('ballot-differs'))).toEqual({ kind: 'new-id' });
  });
});

describe('the outbox', () => {
  it('writes before it sends and removes only after the receipt', async () => {
    const { outbox, disk, log, seen } = setUp(async (ballot) => receiptOf(ballot));
    await outbox.keep(kept(1));
    await outbox.flush();
    expect(log).toEqual(['write waiting', 'send', 'receipt', 'remove']);
    expect(disk.size).toBe(0);
    expect(seen.kept).toEqual([]);
  });

  it('keeps a ballot through silence and sends the same id until it is acknowledged', async () => {
    const ids: string[] = [];
    const { outbox, disk, seen } = setUp(async (ballot, _token, attempt) => {
      ids.push(ballot.id);
      if (attempt < 4) throw new NoAnswer('silence');
      return receiptOf(ballot);
    });
    await outbox.keep(kept(1));
    await outbox.flush();
    expect(disk.size).toBe(1);
    await vi.advanceTimersByTimeAsync(60_000);
    expect(ids.length).toBe(4);
    expect(new Set(ids)).toEqual(new Set([uuid(101)]));
    expect(disk.size).toBe(0);
    expect(seen.receipts.length).toBe(1);
  });

  it('waits longer after each silence, and not at all when it is nudged', async () => {
    const { outbox, log } = setUp(async () => {
      throw new NoAnswer('silence');
    });
    await outbox.keep(kept(1));
    const sends = () => log.filter((entry) => entry === 'send').length;
    await vi.advanceTimersByTimeAsync(20_000);
    const early = sends();
    await vi.advanceTimersByTimeAsync(20_000);
    expect(sends() - early).toBeLessThan(early);
    const before = sends();
    outbox.nudge();
    await vi.advanceTimersByTimeAsync(1);
    expect(sends()).toBe(before + 1);
    outbox.end();
    const last = sends();
    await vi.advanceTimersByTimeAsync(60_000);
    expect(sends()).toBe(last);
  });

  it('keeps what came after the close, says so, and does not send it again', async () => {
    const { outbox, disk, log, seen } = setUp(async () => {
      throw refusal('wrong-state');
    });
    await outbox.keep(kept(1));
    await outbox.flush();
    await vi.advanceTimersByTimeAsync(60_000);
    expect(log).toEqual(['write waiting', 'send', 'write not-counted']);
    expect(disk.get(keyOf(1))?.state).toBe('not-counted');
    expect(seen.kept[0]?.detail).toBe('Refused as wrong-state.');
    await outbox.letGo(keyOf(1));
    expect(disk.size).toBe(0);
  });

  it('never lets go of a ballot that still waits', async () => {
    const { outbox, disk } = setUp(async () => {
      throw new NoAnswer('silence');
    });
    await outbox.keep(kept(1));
    await outbox.letGo(keyOf(1));
    expect(disk.size).toBe(1);
    outbox.end();
  });

  it('drops its own answer when another one stands, and shows that one', async () => {
    const stored: BallotReceipt = {
      ...receiptOf(kept(1).ballot),
      answer: { kind: 'choice', chosen: ['862'], confidence: 'guess', descriptors: [] },
    };
    const { outbox, disk, seen } = setUp(async () => {
      throw refusal('ballot-differs', stored);
    });
    await outbox.keep(kept(1));
    await outbox.flush();
    expect(seen.others).toEqual([stored]);
    expect(disk.size).toBe(0);
    expect(seen.receipts).toEqual([]);
  });

  it('keeps the sheets of one tray apart, and lets go of one without the others', async () => {
    const { outbox, disk, seen } = setUp(async (ballot) => {
      if (ballot.sheet === 2) throw refusal('invalid-input');
      if (ballot.sheet === 3) throw new NoAnswer('silence');
      return receiptOf(ballot);
    });
    for (const sheet of [3, 2, 1]) await outbox.keep(kept(1, {}, sheet));
    await outbox.flush();
    await outbox.flush();
    expect(seen.receipts.map(({ sheet }) => sheet)).toEqual([1]);
    expect(seen.kept.map(({ ballot, state }) => [ballot.sheet, state])).toEqual([
      [2, 'refused'],
      [3, 'waiting'],
    ]);
    await outbox.letGo(keyOf(1, 2));
    expect([...disk.keys()]).toEqual([keyOf(1, 3)]);
    outbox.end();
  });

  it('sends the second tray although the first is refused', async () => {
    const { outbox, disk, seen } = setUp(async (ballot) => {
      if (ballot.trayId === uuid(1)) throw refusal('invalid-input');
      return receiptOf(ballot);
    });
    await outbox.keep(kept(1));
    await outbox.keep(kept(2));
    await outbox.flush();
    await outbox.flush();
    expect([...disk.values()].map(({ ballot, state }) => [ballot.trayId, state])).toEqual([
      [uuid(1), 'refused'],
    ]);
    expect(seen.receipts.map(({ trayId }) => trayId)).toEqual([uuid(2)]);
  });

  it('sends with the new token after the seat moved, also what the old token could not send', async () => {
    const fresh = 'b'.repeat(22);
    const { outbox, disk } = setUp(async (ballot, seatToken) => {
      if (seatToken !== fresh) throw refusal('seat-unknown');
      return receiptOf(ballot);
    });
    await outbox.keep(kept(1));
    await outbox.flush();
    expect(disk.get(keyOf(1))?.state).toBe('seat-lost');
    await outbox.moveTo(fresh, [uuid(1)]);
    await outbox.flush();
    expect(disk.size).toBe(0);
  });

  it('a refusal of the old token, arriving after the move, does not undo the move', async () => {
    const fresh = 'b'.repeat(22);
    let refuse: (reason: unknown) => void = () => undefined;
    const { outbox, disk } = setUp((ballot, seatToken) =>
      seatToken === fresh
        ? Promise.resolve(receiptOf(ballot))
        : new Promise((_resolve, reject) => (refuse = reject)),
    );
    await outbox.keep(kept(1));
    await vi.advanceTimersByTimeAsync(0);
    await outbox.moveTo(fresh, [uuid(1)]);
    refuse(refusal('seat-unknown'));
    await vi.advanceTimersByTimeAsync(1_000);
    expect(disk.size).toBe(0);
  });

  it('goes on from what an earlier page left, and still sends when the device stores no more', async () => {
    const { outbox, disk, seen, breakStore } = setUp(async (ballot) => receiptOf(ballot));
    disk.set(keyOf(1), kept(1));
    await outbox.load();
    expect(seen.kept.length).toBe(1);
    breakStore();
    await outbox.keep(kept(2));
    await outbox.flush();
    await outbox.flush();
    expect(seen.storeRefused).toBe(1);
    expect(seen.receipts.map(({ trayId }) => trayId)).toEqual([uuid(1), uuid(2)]);
  });
});
