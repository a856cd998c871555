import { Analyst, type AnalystOptions } from '@oddglass/server/analyst/analyst.ts';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { afterEach, expect, test } from 'vitest';
import { draft, firstHost, moved, newTrial, startServer } from '../support/app.ts';
import type { FrailInput } from '../support/frail-thread.ts';

// The thread that works results out dies or never comes to an end: nobody waits for ever, and the next result works.

const thread = new URL('../support/frail-thread.ts', import.meta.url);
const DONE = { done: true };

let analyst: Analyst;
let told: string[];

function start(options: Partial<AnalystOptions> = {}): void {
  told = [];
  const log = { warn: (_details: unknown, text?: string) => void told.push(String(text)) };
  analyst = new Analyst({ log: log as AnalystOptions['log'], thread, heapMb: 64, ...options });
}
afterEach(() => analyst.close());

/** The stand-in does `act` so many times, then answers. */
function ask(act: FrailInput['act'], times = 0): Promise<ResultDocument> {
  const left = new SharedArrayBuffer(4);
  new Int32Array(left)[0] = times;
  return analyst.analyse({ act, left } satisfies FrailInput as unknown as SessionInput);
}

test.each(['throw', 'exit', 'exhaust'] as const)('%s once: begun again, and answered', async (act) => {
  start();
  const answers = await Promise.all([ask(act, 1), ask('answer'), ask('answer')]);
  expect(answers).toEqual([DONE, DONE, DONE]);
  expect(told).toEqual(['the thread that works out results ended']);
});

test.each(['throw', 'exit', 'exhaust'] as const)(
  '%s each time: told, and the next is answered',
  async (act) => {
    start();
    const [refused, next] = await Promise.allSettled([ask(act, 1_000), ask('answer')]);
    expect(refused).toMatchObject({ status: 'rejected', reason: { kind: 'no-result', status: 503 } });
    expect(next).toEqual({ status: 'fulfilled', value: DONE });
    expect(told).toHaveLength(2);
    expect(await ask('answer')).toEqual(DONE);
  },
);

test('without an end: given up, and the next is answered', async () => {
  start({ workMs: 1_500 });
  const [refused, next] = await Promise.allSettled([ask('hang', 1), ask('answer')]);
  expect(refused).toMatchObject({ status: 'rejected', reason: { kind: 'no-result' } });
  expect(next).toEqual({ status: 'fulfilled', value: DONE });
});

test('behind one without an end: told after the wait, not worked out later', async () => {
  start({ workMs: 4_000, waitMs: 500 });
  const stuck = ask('hang', 1);
  await expect(ask('answer')).rejects.toMatchObject({ kind: 'no-result' });
  await expect(stuck).rejects.toMatchObject({ kind: 'no-result' });
  expect(await ask('answer')).toEqual(DONE);
});

test('closing tells everybody who waits', async () => {
  start();
  const waiting = Promise.allSettled([ask('hang', 1), ask('answer')]);
  await analyst.close();
  expect(await waiting).toMatchObject([{ reason: { kind: 'closing' } }, { reason: { kind: 'closing' } }]);
  await expect(ask('answer')).rejects.toMatchObject({ kind: 'closing' });
});

test('over the API: a problem that says when to come again, and the server goes on', async () => {
  start({ workMs: 1_000 });
  // The stand-in finds no `left` in a session and fails each time.
  const server = await startServer({ analyst });
  try {
    const host = await firstHost(server.app);
    const session = await moved(
      host,
      await draft(host, await newTrial(host)),
      'seal',
      'open',
      'close',
      'reveal',
    );
    const answer = await host.caller.call('GET', `/api/sessions/${session.id}/result`);
    expect(answer.status).toBe(503);
    expect(answer.headers).toMatchObject({ 'retry-after': '30' });
    expect(answer.body).toMatchObject({ type: '/problems/no-result', status: 503 });
    expect((await host.caller.call('GET', '/api/health')).status).toBe(200);
  } finally {
    await server.close();
  }
});
