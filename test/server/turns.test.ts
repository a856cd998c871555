import type { IncomingMessage } from 'node:http';
import { setTimeout as wait } from 'node:timers/promises';
import { Turns } from '@oddglass/server/guard/turns.ts';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { draft, firstHost, moved, newTrial, startServer, type TestServer } from '../support/app.ts';

// One who asks without a pause waits for a turn or is sent away; a seat that was let in before has turns of its own.

describe('turns', () => {
  const at = { now: 0 };
  const network = (id: string) => ({ who: 'network', id }) as const;
  const fresh = (): Turns => {
    at.now = 0;
    return new Turns(() => at.now);
  };

  test('a burst comes no closer than its peak, then at the steady pace, then nobody else is taken', () => {
    const turns = fresh();
    const waits = Array.from({ length: 60 }, () => turns.take('page', network('one')));
    // 20 of the burst and one that is due, six a second, while three a second grow back.
    expect(waits.slice(0, 7).map((ms) => Math.round(ms ?? NaN))).toEqual([0, 167, 333, 500, 667, 833, 1000]);
    const taken = waits.filter((ms) => ms !== null);
    expect(taken).toHaveLength(51);
    expect(Math.max(...taken)).toBeLessThanOrEqual(10_000);
    expect(taken).toEqual([...taken].sort((a, b) => a - b));
    expect(waits.slice(51)).toEqual(Array<null>(9).fill(null));
  });

  test('over a long while nobody gets more than the steady pace', () => {
    const turns = fresh();
    let taken = 0;
    for (at.now = 0; at.now < 100_000; at.now += 100)
      if (turns.take('call', network('one')) !== null) taken += 1;
    // Asked for ten times a second, below the pace of 20.
    expect(taken).toBe(1_000);
    taken = 0;
    for (; at.now < 200_000; at.now += 10) if (turns.take('call', network('one')) !== null) taken += 1;
    // 20 a second for 100 s, the burst, and those that wait their ten seconds.
    expect(taken).toBeGreaterThanOrEqual(2_000);
    expect(taken).toBeLessThanOrEqual(2_000 + 61 + 200);
  });

  test('turns of one take nothing from another, nor one errand from the next', () => {
    const turns = fresh();
    while (turns.take('page', network('one')) !== null);
    expect(turns.take('page', network('two'))).toBe(0);
    expect(turns.take('call', network('one'))).toBe(0);
    expect(turns.take('page', { who: 'seat', id: 'one' })).toBe(0);
  });

  test('sockets never wait', () => {
    const turns = fresh();
    const waits = Array.from({ length: 15 }, () => turns.take('socket', { who: 'seat', id: 'one' }));
    expect(waits).toEqual([...Array<number>(11).fill(0), ...Array<null>(4).fill(null)]);
    at.now = 2_000;
    expect(turns.take('socket', { who: 'seat', id: 'one' })).toBe(0);
  });

  test('however many come, only so many are remembered', () => {
    const turns = fresh();
    turns.letIn('first');
    while (turns.take('page', network('first')) !== null);
    for (let other = 0; other < 20_000; other++) {
      turns.take('page', network(String(other)));
      turns.letIn(String(other));
    }
    expect(turns.isKnown('first')).toBe(false);
    expect(turns.isKnown('19999')).toBe(true);
    expect(turns.take('page', network('first'))).toBe(0);
  });
});

describe('turns of a server behind a proxy that tells addresses', () => {
  let server: TestServer;
  let open: SessionView;
  let base: string;
  let drawn = 0;
  const ROOM = '198.51.100.1';
  const ELSEWHERE = '203.0.113.9';
  /** Asks the API a hundred times while it is drawn, which costs whoever asked for it no further turn. */
  const pages: WebHandler = (request, response) => {
    drawn += 1;
    if (request.url !== '/asking') return void response.end('a page');
    const { answerApi } = request as IncomingMessage & {
      answerApi: (asked: object) => Promise<{ status: number }>;
    };
    const asked = Array.from({ length: 100 }, () =>
      answerApi({ method: 'GET', url: '/api/me', headers: {}, body: undefined }),
    );
    void Promise.all(asked).then((answers) => response.end(answers.map(({ status }) => status).join(' ')));
  };

  beforeAll(async () => {
    server = await startServer({ webHandler: pages, trustProxy: 'loopback' });
    const host = await firstHost(server.app);
    open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
    base = await server.app.listen({ port: 0, host: '127.0.0.1' });
  });
  afterAll(() => server.close());

  const ask = (path: string, from: string | null, init: RequestInit = {}) =>
    fetch(base + path, {
      ...init,
      headers: {
        ...(init.headers as Record<string, string>),
        ...(from !== null && { 'x-forwarded-for': from }),
      },
    });
  const sat = async (seat: number): Promise<string> => {
    const answer = await ask('/api/join/seat', null, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ token: open.join?.token, seat }),
    });
    expect(answer.status).toBe(200);
    return ((await answer.json()) as { seatToken: string }).seatToken;
  };
  const atSeat = (token: string, from: string) =>
    ask('/api/seat', from, { headers: { authorization: `Bearer ${token}` } });

  test('who asks for pages without a pause is sent away with a word on when, and a seat goes on', async () => {
    const token = await sat(1);
    expect((await atSeat(token, ROOM)).status).toBe(200);
    const stop = new AbortController();
    const refused: Response[] = [];
    const asked = Array.from({ length: 60 }, () =>
      ask('/', ELSEWHERE, { signal: stop.signal }).then(
        (answer) => {
          if (answer.status !== 200) refused.push(answer);
        },
        () => undefined,
      ),
    );
    await expect.poll(() => refused.length).toBeGreaterThanOrEqual(8);
    expect(refused.map(({ status }) => status)).toEqual(refused.map(() => 503));
    expect(refused[0]?.headers.get('retry-after')).toBe('5');
    expect(await refused[0]?.json()).toMatchObject({ type: '/problems/busy' });
    // From the same place as well: whoever was let in before has turns of their own.
    expect((await atSeat(token, ELSEWHERE)).status).toBe(200);
    expect((await ask('/', ROOM)).status).toBe(200);
    stop.abort();
    await Promise.all(asked);
    const before = drawn;
    await wait(1_000);
    // Nothing is drawn for those who went away; the one whose turn just came may be.
    expect(drawn - before).toBeLessThanOrEqual(1);
  });

  test('a page is one turn, whatever it asks the API while it is drawn', async () => {
    const page = await (await ask('/asking', '192.0.2.77')).text();
    expect(page.split(' ')).toHaveLength(100);
    expect(new Set(page.split(' '))).toEqual(new Set(['401']));
    expect((await ask('/api/health', '192.0.2.77')).status).toBe(200);
  });

  test('a seat opens some sockets, then no more for a while; another seat at the same address opens its own', async () => {
    const [greedy, calm] = [await sat(2), await sat(3)];
    for (const token of [greedy, calm]) expect((await atSeat(token, ROOM)).status).toBe(200);
    const sockets: WebSocket[] = [];
    const opened = (token: string, from: string | null) =>
      new Promise<number>((resolve) => {
        const socket = new WebSocket(
          `${base.replace('http', 'ws')}/api/seat/live`,
          ['oddglass', `seat.${token}`],
          {
            headers: from === null ? {} : { 'x-forwarded-for': from },
          },
        );
        sockets.push(socket);
        socket.on('open', () => resolve(101));
        socket.on('unexpected-response', (_request, response) => resolve(response.statusCode ?? 0));
        socket.on('error', () => undefined);
      });
    const statuses: number[] = [];
    for (let turn = 0; turn < 20; turn++) statuses.push(await opened(greedy, ROOM));
    expect(statuses.slice(0, 10)).toEqual(Array<number>(10).fill(101));
    expect(statuses.slice(10).filter((status) => status === 503).length).toBeGreaterThanOrEqual(5);
    expect(await opened(calm, ROOM)).toBe(101);
    // The machine itself is let through: all who sit behind a silent proxy come as one.
    for (let turn = 0; turn < 20; turn++) expect(await opened(calm, null)).toBe(101);
    for (const socket of sockets) socket.terminate();
  });
});
