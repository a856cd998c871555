import { createHash, randomUUID } from 'node:crypto';
import type { SoloList, SoloSettings, SoloView } from '@oddglass/shared/contracts/solo.ts';
import { soloView } from '@oddglass/shared/contracts/solo.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { soloAnswerText } from '@oddglass/shared/design/solo-seal.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  firstHost,
  invited,
  newTrial,
  startServer,
  strangeHost,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { keysOf } from '../support/leaks.ts';

let server: TestServer;
let host: Hosted;
let steward: Hosted;
let trial: TrialView;
const log: string[] = [];

beforeAll(async () => {
  server = await startServer({
    logger: { level: 'info', stream: { write: (line: string) => void log.push(line) } },
  });
  host = await firstHost(server.app);
  steward = await invited(host, 'steward', 'Cellar');
  trial = await newTrial(host);
});
afterAll(() => server.close());

const settingsOf = (own: TrialView, change: Partial<SoloSettings> = {}): SoloSettings =>
  ({
    kind: 'triangle',
    armIds: own.arms.slice(0, 2).map(({ id }) => id),
    stopping: 'after-all',
    trays: 3,
    cupMl: 10,
    alpha: 0.05,
    beta: 0.2,
    dPrime: 1.5,
    ...change,
  }) as SoloSettings;

async function sealed(who: Hosted, change: Partial<SoloSettings> = {}): Promise<SoloView> {
  const body = { id: randomUUID(), settings: settingsOf(trial, change) };
  const view = await who.caller.ok<SoloView>('POST', `/api/trials/${trial.id}/solo`, body);
  return who.caller.ok('POST', `/api/solo/${view.id}/cautions`, {});
}
const answerOf = (view: SoloView, tray: number, at = 0) => {
  const codes = view.plan.trays[tray - 1]!.codes.filter((code) => code !== null);
  return { id: randomUUID(), tray, answer: { kind: 'choice', codes: [codes[at]] } };
};
/** What stood on a tray, as letters left to right. */
const stoodOf = (tray: number, row: string, replaces: string | null = null, asPlanned = true) => ({
  id: randomUUID(),
  tray,
  armIds: Array.from(row, (letter) => trial.arms[letter === 'A' ? 0 : 1]!.id),
  asPlanned,
  replaces,
});
const send = (who: Hosted, view: SoloView, what: string, body: unknown) =>
  who.caller.call<SoloView & { type: string; detail: string }>('POST', `/api/solo/${view.id}/${what}`, body);

/** Every row of every table, as text. */
async function wholeDatabase(): Promise<string> {
  const { rows } = await server.database.pool.query<{ name: string }>(
    `select quote_ident(table_name) as name from information_schema.tables
     where table_schema = 'public' and table_type = 'BASE TABLE' order by table_name`,
  );
  const tables: string[] = [];
  for (const { name } of rows) {
    const all = await server.database.pool.query<{ row: string }>(
      `select to_jsonb(one)::text as row from ${name} one order by 1`,
    );
    tables.push(`${name}\n${all.rows.map(({ row }) => row).join('\n')}`);
  }
  return tables.join('\n\n');
}

describe('no state holds the key before the last answer is locked', () => {
  test('entries that come too early are refused and leave no trace, in no table and no line of the log', async () => {
    const view = await sealed(host);
    const early = async (row: string) => {
      // Sign-ins note when they were last used; the clock stands still, so that nothing else moves.
      const before = await wholeDatabase();
      const lines = log.length;
      const entry = stoodOf(1, row);
      const refused = await send(host, view, 'stood', entry);
      expect([refused.status, refused.body.type]).toEqual([409, '/problems/answers-not-locked']);
      expect(await wholeDatabase()).toBe(before);
      expect(refused.text).not.toContain(trial.arms[0]!.id);
      expect(refused.text).not.toContain(trial.arms[1]!.id);
      expect(log.slice(lines).join('')).not.toContain(trial.arms[0]!.id);
      return refused.text.replace(/urn:uuid:[0-9a-f-]+/, '');
    };
    const told = [await early('AABB'), await early('BBAA')];
    await host.caller.ok('POST', `/api/solo/${view.id}/answers`, answerOf(view, 1));
    told.push(await early('AABB'), await early('ABAB'));
    await host.caller.ok('POST', `/api/solo/${view.id}/answers`, answerOf(view, 2));
    told.push(await early('BABA'), await early('AAAB'));
    // What is said does not depend on what was tried.
    expect(new Set(told).size).toBe(1);
    expect((await server.database.pool.query('select * from solo_stood')).rows).toEqual([]);
  });

  test('the database itself takes no entry without the answer and the lock that it hangs on', async () => {
    const view = await sealed(host);
    await host.caller.ok('POST', `/api/solo/${view.id}/answers`, answerOf(view, 1));
    const insert = (tray: number, lock: string) =>
      server.database.pool.query(
        `insert into solo_stood (id, series_id, tray, lock_id, arm_ids, as_planned, written_at)
         values ($1, $2, $3, $4, '{}', true, now())`,
        [randomUUID(), view.id, tray, lock],
      );
    await expect(insert(1, randomUUID())).rejects.toThrow('solo_stood_lock');
    const other = await sealed(host, { trays: 1 });
    await host.caller.ok('POST', `/api/solo/${other.id}/answers`, answerOf(other, 1));
    const { rows } = await server.database.pool.query<{ id: string }>(
      'select id from solo_lock where series_id = $1',
      [other.id],
    );
    await expect(insert(1, rows[0]!.id)).rejects.toThrow('solo_stood_lock');
    await expect(insert(2, rows[0]!.id)).rejects.toThrow('solo_stood');
  });

  test('two evenings with other cups in other places are the same to the last byte until then', async () => {
    // Everything that could tell is walked on two servers that draw alike: only the cups on the table differ.
    const evening = async (rows: readonly string[]) => {
      const ids = seededRandom(new Uint8Array(32).fill(1));
      const next = () => {
        const hex = Buffer.from(ids.bytes(16)).toString('hex');
        return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-4${hex.slice(13, 16)}-8${hex.slice(17, 20)}-${hex.slice(20)}`;
      };
      const own = await startServer({ random: seededRandom(new Uint8Array(32).fill(9)) });
      try {
        const alone = await firstHost(own.app);
        const here = await newTrial(alone);
        const { caller } = alone;
        const heard: string[] = [];
        const hear = async (method: string, path: string, body?: unknown) => {
          const answer = await caller.call<SoloView>(method, path, body);
          heard.push(`${answer.status} ${answer.text}`);
          return answer.body;
        };
        const walk = async (id: string) => {
          for (const path of [
            `/api/solo/${id}`,
            `/api/trials/${here.id}/solo`,
            `/api/trials/${here.id}`,
            `/api/trials/${here.id}/story`,
          ])
            await hear('GET', path);
        };
        const id = next();
        await hear('POST', `/api/trials/${here.id}/solo`, { id, settings: settingsOf(here) });
        await hear('POST', `/api/solo/${id}/cautions`, {});
        let view = await hear('GET', `/api/solo/${id}`);
        for (let tray = 1; tray <= 3; tray++) {
          await walk(id);
          const body = { ...answerOf(view, tray, tray % 3), id: next() };
          view = await hear('POST', `/api/solo/${id}/answers`, body);
        }
        await walk(id);
        const text = heard.join('\n');
        const keys = heard.flatMap((one) => keysOf(JSON.parse(one.slice(4))));
        expect(keys.filter((key) => /correct|right|score|hits|wrong/i.test(key))).toEqual([]);
        let over = view;
        for (const [at, row] of rows.entries()) {
          const armIds = Array.from(row, (letter) => here.arms[letter === 'A' ? 0 : 1]!.id);
          over = await hear('POST', `/api/solo/${id}/stood`, {
            id: next(),
            tray: at + 1,
            armIds,
            asPlanned: true,
            replaces: null,
          });
        }
        return { text, over };
      } finally {
        await own.close();
      }
    };
    const one = await evening(['AABB', 'ABAB', 'BABA']);
    const other = await evening(['BBAA', 'BAAB', 'ABBA']);
    expect(other.text).toBe(one.text);
    expect(one.text.length).toBeGreaterThan(10_000);
    expect(other.over.result).not.toEqual(one.over.result);
  });
});

describe('an answer is final', () => {
  test('it counts once, whatever is sent again, from wherever', async () => {
    const view = await sealed(host);
    const first = answerOf(view, 1, 0);
    const stored = await send(host, view, 'answers', first);
    const again = await send(host, view, 'answers', first);
    expect([again.status, again.text]).toEqual([200, stored.text]);
    const changed = { ...first, answer: answerOf(view, 1, 2).answer };
    expect((await send(host, view, 'answers', changed)).body.type).toBe('/problems/id-taken');
    // A second tab, or the page before: another id for the same tray.
    expect((await send(host, view, 'answers', answerOf(view, 1, 2))).body.type).toBe(
      '/problems/tray-answered',
    );
    expect((await send(host, view, 'answers', answerOf(view, 3))).body.type).toBe('/problems/not-this-tray');
    const both = await Promise.all(
      [0, 1, 2, 0, 1, 2].map((at) => send(host, view, 'answers', answerOf(view, 2, at))),
    );
    expect(both.filter(({ status }) => status === 200)).toHaveLength(1);
    const now = await host.caller.ok<SoloView>('GET', `/api/solo/${view.id}`);
    expect(now.trays[0]?.answer?.answer).toEqual(first.answer);
    expect(now.step).toEqual({ at: 'tray', tray: 3 });
    const theirs = await send(steward, view, 'answers', answerOf(view, 3));
    expect(theirs.body.type).toBe('/problems/not-allowed');
  });

  test('settings and answers hang together by hashes that anybody can work out', async () => {
    const view = await sealed(host, { trays: 2 });
    const sha = (text: string) => createHash('sha256').update(text).digest('hex');
    expect(sha(view.seal.text)).toBe(view.seal.root);
    const text = JSON.parse(view.seal.text) as { settings: object; plan: object };
    expect([text.settings, text.plan]).toEqual([view.settings, view.plan]);
    let before = view.seal.root;
    for (const tray of [1, 2]) {
      const body = answerOf(view, tray);
      const { trays, locks } = await host.caller.ok<SoloView>('POST', `/api/solo/${view.id}/answers`, body);
      before = sha(soloAnswerText({ ...body, before }));
      expect(trays[tray - 1]?.answer?.hash).toBe(before);
      expect(locks.map(({ hash }) => hash)).toEqual(tray === 2 ? [before] : []);
    }
  });
});

test('a series end to end: liquid, cups turned, a slip misread, and what one palate found', async () => {
  const left = (view: TrialView) => view.arms.slice(0, 2).map(({ volumeMl }) => volumeMl);
  const read = () => host.caller.ok<TrialView>('GET', `/api/trials/${trial.id}`);
  const before = left(await read());
  const view = await sealed(host, { cupMl: 15 });
  // Three trays, two cups of each arm, 15 mL; held back first, then poured, of both alike.
  expect(left(await read())).toEqual(before.map((ml) => ml - 90));
  for (const tray of [1, 2, 3])
    await host.caller.ok('POST', `/api/solo/${view.id}/answers`, answerOf(view, tray));
  expect(left(await read())).toEqual(before.map((ml) => ml - 90));
  expect((await send(host, view, 'stood', stoodOf(1, 'AAAB'))).body.detail).toContain(
    'three of A and one of B',
  );
  const entry = stoodOf(1, 'AABB');
  const kept = await send(host, view, 'stood', entry);
  expect((await send(host, view, 'stood', entry)).text).toBe(kept.text);
  expect((await send(host, view, 'stood', stoodOf(1, 'BBAA'))).body.type).toBe('/problems/entry-moved');
  await host.caller.ok('POST', `/api/solo/${view.id}/stood`, stoodOf(2, 'BBAA'));
  const list = () => host.caller.ok<SoloList>('GET', `/api/trials/${trial.id}/solo`);
  expect((await list()).series.find(({ id }) => id === view.id)).toMatchObject({
    over: false,
    headline: null,
  });
  const hidden = await steward.caller.ok<SoloView>('GET', `/api/solo/${view.id}`);
  expect(hidden.trays.every(({ answer, stood }) => answer === null && stood === null)).toBe(true);
  const over = soloView.parse(
    await host.caller.ok('POST', `/api/solo/${view.id}/stood`, stoodOf(3, 'ABBB', null, false)),
  );
  expect(over.step).toEqual({ at: 'over' });
  expect(over.result).toMatchObject({ kind: 'difference', counted: 2, otherwise: 1 });
  expect(over.result?.headline).toContain('ne palate');
  // The first entry was wrong: the other arm stands there now, and both entries are kept.
  const put = await host.caller.ok<SoloView>(
    'POST',
    `/api/solo/${view.id}/stood`,
    stoodOf(1, 'ABAB', entry.id),
  );
  expect(put.trays[0]?.before.map(({ id }) => id)).toEqual([entry.id]);
  expect(put.result?.caveats.join(' ')).toContain('put right one time');
  const theirs = await steward.caller.ok<SoloView>('GET', `/api/solo/${view.id}`);
  expect(theirs.result).toEqual(put.result);
  expect((await list()).series.find(({ id }) => id === view.id)?.headline).toBe(put.result?.headline);
  // It stands apart from the sessions: the story makes nothing of it.
  const story = await host.caller.ok<{ sessions: unknown[] }>('GET', `/api/trials/${trial.id}/story`);
  expect(story.sessions).toEqual([]);
});

test('by lines each tray is turned before the next, and nothing is asked after they spoke', async () => {
  const view = await sealed(host, { stopping: 'by-lines', trays: 8, dPrime: 2.5, alpha: 0.1, cupMl: 5 });
  let now = view;
  for (let tray = 1; now.step.at === 'tray'; tray++) {
    now = await host.caller.ok('POST', `/api/solo/${view.id}/answers`, answerOf(view, tray, 0));
    expect(now.step).toEqual({ at: 'stood', tray });
    expect((await send(host, view, 'answers', answerOf(view, tray + 1))).body.type).toBe(
      '/problems/not-this-tray',
    );
    const codes = view.plan.trays[tray - 1]!.codes;
    const odd = codes.findIndex((code) => code !== null);
    const row = codes.map((code, at) => (code === null || at === odd ? 'A' : 'B')).join('');
    now = await host.caller.ok('POST', `/api/solo/${view.id}/stood`, stoodOf(tray, row));
  }
  expect(now.result).toMatchObject({ verdict: 'difference', p: null });
  expect(now.locks.map(({ tray }) => tray)).toEqual(now.locks.map((_, at) => at + 1));
  expect(now.locks.length).toBeLessThan(8);
  expect((await send(host, view, 'answers', answerOf(view, now.locks.length + 1))).status).toBe(409);
});

test('marks of a rating become means by arm', async () => {
  const attributes = [{ id: 'sour', name: 'Sourness', low: 'none', high: 'very strong' }];
  const view = await sealed(host, { kind: 'rating', trays: 2, attributes } as Partial<SoloSettings>);
  for (const tray of [1, 2]) {
    const answer = { kind: 'marks', marks: tray === 1 ? [[10], [80]] : [[70], [20]] };
    await host.caller.ok('POST', `/api/solo/${view.id}/answers`, { id: randomUUID(), tray, answer });
  }
  await host.caller.ok('POST', `/api/solo/${view.id}/stood`, stoodOf(1, 'AB'));
  const over = await host.caller.ok<SoloView>('POST', `/api/solo/${view.id}/stood`, stoodOf(2, 'BA'));
  expect(over.result).toMatchObject({
    kind: 'rating',
    attributes: [{ trays: 2, means: [{ mean: 15 }, { mean: 75 }] }],
  });
});

describe('what is refused', () => {
  test('nothing is poured before the cautions were read and every arm is fit', async () => {
    const own = await newTrial(host);
    const settings = settingsOf(own);
    const id = randomUUID();
    const view = await host.caller.ok<SoloView>('POST', `/api/trials/${own.id}/solo`, { id, settings });
    expect(view.cautions).toMatchObject({ cups: 9, cupMl: 10 });
    expect((await send(host, view, 'answers', answerOf(view, 1))).body.type).toBe('/problems/cautions-open');
    server.clock.now = new Date(server.clock.now.getTime() + 40 * 3_600_000);
    const unfit = await send(host, view, 'cautions', {});
    server.clock.now = new Date(server.clock.now.getTime() - 40 * 3_600_000);
    expect([unfit.status, unfit.body.type]).toEqual([409, '/problems/unsafe-to-taste']);
    expect((await send(host, view, 'cautions', {})).status).toBe(200);
    const sent = await host.caller.call('POST', `/api/trials/${own.id}/solo`, { id, settings });
    expect(sent.status).toBe(200);
    const other = { id, settings: { ...settings, trays: 4 } };
    expect((await host.caller.call('POST', `/api/trials/${own.id}/solo`, other)).body).toMatchObject({
      type: '/problems/id-taken',
    });
  });

  test('too little liquid, arms of another trial, and people of another panel', async () => {
    const post = (change: Partial<SoloSettings>) =>
      host.caller.call('POST', `/api/trials/${trial.id}/solo`, {
        id: randomUUID(),
        settings: settingsOf(trial, change),
      });
    expect((await post({ cupMl: 200, trays: 30 })).body).toMatchObject({
      type: '/problems/not-enough-liquid',
    });
    const elsewhere = await newTrial(host);
    const armIds = elsewhere.arms.slice(0, 2).map(({ id }) => id);
    expect((await post({ armIds })).body).toMatchObject({ type: '/problems/arm-out-of-trial' });
    const view = await sealed(host);
    const stranger = await strangeHost(host);
    expect((await stranger.caller.call('GET', `/api/solo/${view.id}`)).status).toBe(404);
    expect((await stranger.caller.call('GET', `/api/trials/${trial.id}/solo`)).status).toBe(404);
    expect((await send(stranger, view, 'answers', answerOf(view, 1))).status).toBe(404);
  });

  test('ended early, what was answered is turned and what was not is not asked', async () => {
    const view = await sealed(host);
    await host.caller.ok('POST', `/api/solo/${view.id}/answers`, answerOf(view, 1));
    const ended = await host.caller.ok<SoloView>('POST', `/api/solo/${view.id}/end`, {});
    expect(ended.step).toEqual({ at: 'stood', tray: 1 });
    expect((await send(host, view, 'answers', answerOf(view, 2))).body.type).toBe('/problems/not-this-tray');
    const over = await host.caller.ok<SoloView>('POST', `/api/solo/${view.id}/stood`, stoodOf(1, 'AABB'));
    expect(over.result?.counted).toBe(1);
    expect(over.endedEarly).toBe(true);
    const none = await sealed(host);
    const left = await host.caller.ok<SoloView>('POST', `/api/solo/${none.id}/end`, {});
    expect(left.result?.headline).toContain('nothing is known');
  });
});
