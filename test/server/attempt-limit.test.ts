import { openDb, type Db } from '@oddglass/db/client.ts';
import {
  AttemptLimit,
  isOwnMachine,
  networkOf,
  openLimits,
  type AttemptRule,
} from '@oddglass/server/guard/attempts.ts';
import { problem, type Problem } from '@oddglass/server/refusal/problem.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createTestDatabase, type TestDatabase } from '../support/database.ts';

// What counts as a guess, what gives its point back, and who is counted as one.

let database: TestDatabase;
let db: Db;
let now: Date;
let names = 0;

beforeAll(async () => {
  database = await createTestDatabase();
  db = openDb(database.pool);
});
afterAll(() => database.drop());

/** A limit that nothing was counted of yet. */
function limitOf(rule: Partial<AttemptRule> = {}): AttemptLimit {
  now = new Date('2031-03-01T12:00:00Z');
  names += 1;
  return new AttemptLimit(db, () => now, { name: `rule-${names}`, allowed: 2, seconds: 60, ...rule });
}
const later = (ms: number) => void (now = new Date(now.getTime() + ms));
const right = async () => 'right';
const failing = (reason: unknown) => async (): Promise<never> => {
  throw reason;
};
const refusal = async (asked: Promise<unknown>): Promise<Problem['circumstances'] & { kind: string }> => {
  const reason = await asked.then(
    () => expect.fail('it was not refused'),
    (thrown: unknown) => thrown as Problem,
  );
  return { kind: reason.kind, ...reason.circumstances };
};

describe('a point', () => {
  test('is kept by a guess that was wrong; what the guess was refused with is told', async () => {
    const limit = limitOf();
    for (let guess = 0; guess < 2; guess++) {
      expect((await refusal(limit.attempt('k', failing(problem('join-refused'))))).kind).toBe('join-refused');
    }
    expect((await refusal(limit.attempt('k', right))).kind).toBe('too-many-attempts');
    expect(await limit.attempt('another', right)).toBe('right');
  });

  test.each([
    ['was right', right],
    ['failed for want of the database', failing(new Error('no connection'))],
    ['met a server that was busy', failing(problem('busy'))],
    ['met a fault of the server', failing(problem('internal'))],
    ['was refused by another limit', failing(problem('too-many-attempts'))],
  ])('comes back from an attempt that %s', async (_name, work) => {
    const limit = limitOf();
    for (let at = 0; at < 3; at++) await limit.attempt('k', work).catch(() => undefined);
    const guess = () => refusal(limit.attempt('k', failing(problem('join-refused'))));
    expect([(await guess()).kind, (await guess()).kind]).toEqual(['join-refused', 'join-refused']);
    expect((await guess()).kind).toBe('too-many-attempts');
  });

  test('of what is had so often is kept by what succeeds, and comes back from what was not to be had', async () => {
    const limit = limitOf();
    for (let at = 0; at < 3; at++) {
      expect((await refusal(limit.spend('k', failing(problem('seat-taken'))))).kind).toBe('seat-taken');
    }
    expect([await limit.spend('k', right), await limit.spend('k', right)]).toEqual(['right', 'right']);
    expect((await refusal(limit.spend('k', right))).kind).toBe('too-many-attempts');
  });

  test('counts from the first guess until its time is over, not longer', async () => {
    const limit = limitOf();
    const wrong = () => refusal(limit.attempt('k', failing(problem('join-refused'))));
    await wrong();
    later(30_000);
    await wrong();
    later(29_999);
    expect((await wrong()).kind).toBe('too-many-attempts');
    later(1);
    expect(await limit.attempt('k', right)).toBe('right');
  });
});

test('what is over is swept by the first guess of the next count, whoever makes it', async () => {
  const limit = limitOf();
  const counted = async (): Promise<number> =>
    (await database.pool.query('select key from attempt where ends_at <= $1', [now])).rows.length;
  await limit.spend('gone home', right);
  later(60_000);
  expect(await counted()).toBeGreaterThan(0);
  await limit.spend('new', right);
  expect(await counted()).toBe(0);
});

describe('who is refused', () => {
  const used = async (limit: AttemptLimit): Promise<AttemptLimit> => {
    for (let at = 0; at < 2; at++) await limit.spend('k', right);
    return limit;
  };

  test.each([
    [0, 60],
    [20_000, 40],
    [20_001, 40],
    [59_001, 1],
    [59_999, 1],
  ])('after %i ms of the minute waits for %i s, rounded up', async (ms, seconds) => {
    const limit = await used(limitOf());
    later(ms);
    expect(await refusal(limit.spend('k', right))).toEqual({
      kind: 'too-many-attempts',
      detail: `Too many wrong attempts from here. Try again in ${seconds} seconds.`,
      retryAfterSeconds: seconds,
    });
  });

  test('hears what the rule says', async () => {
    const limit = await used(
      limitOf({ refusal: 'seats-too-fast', says: 'Many sat down.', otherwise: '; or wait' }),
    );
    expect(await refusal(limit.spend('k', right))).toMatchObject({
      kind: 'seats-too-fast',
      detail: 'Many sat down. Try again in 60 seconds; or wait.',
    });
  });
});

describe('one after another', () => {
  test('right ones that come together never look like wrong ones, and each gets its own answer', async () => {
    const limit = limitOf({ inTurn: true });
    let busy = 0;
    const asked = Array.from({ length: 20 }, (_, at) =>
      limit.attempt('k', async () => {
        busy += 1;
        expect(busy).toBe(1);
        await new Promise((resolve) => setImmediate(resolve));
        busy -= 1;
        return at;
      }),
    );
    expect(await Promise.all(asked)).toEqual(Array.from({ length: 20 }, (_, at) => at));
  });

  test('one that comes while others wait waits behind them', async () => {
    const limit = limitOf({ inTurn: true });
    let busy = 0;
    const alone = async (): Promise<void> => {
      busy += 1;
      expect(busy).toBe(1);
      await database.pool.query('select 1');
      busy -= 1;
    };
    const [first, second, third] = [1, 2, 3].map(() => limit.attempt('k', alone));
    await first;
    const late = limit.attempt('k', alone);
    await second;
    await Promise.all([third, late, limit.attempt('k', alone)]);
  });

  test('a queue stays as long as somebody waits in it', async () => {
    const limit = limitOf({ inTurn: true });
    let open = (): void => undefined;
    const gate = new Promise<void>((resolve) => (open = resolve));
    const said: string[] = [];
    const first = limit.attempt('k', right);
    const begun = new Promise<void>((resolve) => {
      void limit.attempt('k', async () => {
        resolve();
        await gate;
        said.push('second');
      });
    });
    await first;
    await begun;
    await new Promise((resolve) => setImmediate(resolve));
    const third = limit.attempt('k', () => Promise.resolve(said.push('third')));
    // Whoever waits for nobody is through by now, twice.
    for (const _turn of [1, 2]) await limit.attempt('another', right);
    expect(said).toEqual([]);
    open();
    await third;
    expect(said).toEqual(['second', 'third']);
  });

  test('a room that types the right join code at once is let in, though it is more than may guess', async () => {
    limitOf();
    const { join } = openLimits(db, () => now);
    const room = Array.from({ length: 40 }, () =>
      join.attempt('room', () => database.pool.query('select 1')),
    );
    expect((await Promise.allSettled(room)).filter(({ status }) => status === 'rejected')).toEqual([]);
  });

  test('a wrong one does not end the queue behind it', async () => {
    const limit = limitOf({ inTurn: true });
    const [wrong, good] = await Promise.allSettled([
      limit.attempt('k', failing(problem('join-refused'))),
      limit.attempt('k', right),
    ]);
    expect([wrong.status, good]).toEqual(['rejected', { status: 'fulfilled', value: 'right' }]);
  });

  test('five hundred wait, the next is told to come back, and the queue is open again once it is empty', async () => {
    const limit = limitOf({ inTurn: true });
    let open = (): void => undefined;
    const gate = new Promise<void>((resolve) => (open = resolve));
    const waiting = Array.from({ length: 500 }, () =>
      limit.attempt('k', () => gate.then(() => Promise.reject(problem('too-many-attempts')))),
    );
    const ended = Promise.allSettled(waiting);
    expect(await refusal(limit.attempt('k', right))).toMatchObject({ retryAfterSeconds: 1 });
    // Another address waits for nobody.
    expect(await limit.attempt('another', right)).toBe('right');
    open();
    await ended;
    expect(await limit.attempt('k', right)).toBe('right');
  });
});

test('limits are as they are promised: name, how many in vain, for how long', async () => {
  now = new Date('2031-04-01T12:00:00Z');
  const limits = openLimits(db, () => now);
  const wrong = problem('wrong-credentials');
  const [signIn, link, join, seats] = [10, 20, 19, 6];
  const expected = { signIn, signInFrom: 100, passphrase: 10, secondFactor: 10, link, join, seats };
  const found: Record<string, [number, number]> = {};
  for (const [name, limit] of Object.entries(limits) as [keyof typeof limits, AttemptLimit][]) {
    const guess = () =>
      name === 'seats'
        ? refusalOrNull(limit.spend('k', right))
        : refusalOrNull(limit.attempt('k', failing(wrong)));
    let tried = 0;
    for (;;) {
      const refused = await guess();
      if (refused) {
        found[name] = [tried, refused];
        break;
      }
      tried += 1;
    }
  }
  const seconds = {
    signIn: 600,
    signInFrom: 600,
    passphrase: 600,
    secondFactor: 600,
    link: 600,
    join: 60,
    seats: 15,
  };
  for (const name of Object.keys(expected) as (keyof typeof expected)[]) {
    expect([name, ...(found[name] ?? [])]).toEqual([name, expected[name], seconds[name]]);
  }
});

/** The seconds to wait, or null when it was let through. */
const refusalOrNull = (asked: Promise<unknown>): Promise<number | null> =>
  asked.then(
    () => null,
    (reason: Problem) => reason.circumstances.retryAfterSeconds ?? null,
  );

// Forms of one address: RFC 4291, 2.2 and 2.5.5.2; the address blocks for documentation are those of RFC 3849 and RFC 5737.
describe('who calls', () => {
  test.each([
    ['2001:db8:1:2::7', '2001:db8:1:2:ffff:ffff:ffff:ffff', true],
    ['2001:db8:1:2::7', '2001:0DB8:0001:0002:0:0:0:9', true],
    ['2001:db8:1:2::7', '2001:db8:1:3::7', false],
    ['2001:db8::1', '2001:db8:0:0:5::', true],
    ['2001:db8::1', '2001:db8:0:1::1', false],
    // What is left out stands between: here one group of zeros, before the last three of the network.
    ['2001::2:3:4:5:6:7', '2001:0:2:3::', true],
    ['::5:6:7:8', '0:0:0:0:9::', true],
    ['fe80::1%eth0', 'fe80::2', true],
    ['192.0.2.7', '::ffff:192.0.2.7', true],
    ['192.0.2.7', '::FFFF:192.0.2.7', true],
    ['192.0.2.7', '192.0.2.8', false],
    ['203.113.114.115', '::ffff:203.113.114.115', true],
    // Another network that only ends alike.
    ['192.0.2.7', '2001:db8::ffff:192.0.2.7', false],
  ])('%s and %s are one: %s', (first, second, one) => {
    expect(networkOf(first) === networkOf(second)).toBe(one);
  });

  test.each([
    ['127.0.0.1', true],
    ['127.8.9.10', true],
    ['::ffff:127.0.0.1', true],
    ['::1', true],
    ['128.0.0.1', false],
    ['192.127.0.1', false],
    ['::2', false],
    ['2001:db8::1', false],
  ])('%s is this machine: %s', (address, own) => {
    expect(isOwnMachine(address)).toBe(own);
  });
});
