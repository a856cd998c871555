import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import {
  Caller,
  draft,
  invited,
  moved,
  newTrial,
  seated,
  usePanel,
  type Answer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, PASSPHRASE, settings, trialInput, trianglePart } from '../support/factories.ts';

// Bad input: each gets its problem document (RFC 9457), names the field, and changes nothing.

let server: TestServer;
let host: Hosted;
let trial: TrialView;

usePanel((panel) => ({ server, host } = panel));
beforeAll(async () => {
  trial = await newTrial(host);
});

let before: string;
const TABLES = [
  'trial',
  'arm',
  'session',
  'seat',
  'ballot',
  'session_event',
  'deviation',
  'account',
  'membership',
];
async function everything(): Promise<string> {
  const rows = await Promise.all(
    TABLES.map(async (table) => {
      const { rows: found } = await server.database.pool.query(
        `select md5(string_agg(t::text, '|' order by t::text)) as sum from "${table}" t`,
      );
      return found[0].sum;
    }),
  );
  return rows.join();
}

function expectProblem(
  answer: Answer<unknown>,
  name: string,
  status: number,
  pointer?: string,
): ProblemDocument {
  const body = answer.body as ProblemDocument;
  expect(answer.headers['content-type']).toContain('application/problem+json');
  expect({ type: body.type, status: body.status, http: answer.status }).toEqual({
    type: `/problems/${name}`,
    status,
    http: status,
  });
  expect(body.detail).not.toBe('');
  expect(body.instance).toMatch(/^urn:uuid:/);
  if (pointer) expect(body.errors?.map((error) => error.pointer)).toContain(pointer);
  return body;
}

describe('trials', () => {
  const send = (body: unknown) => host.caller.call('POST', `/api/panels/${host.panel}/trials`, body);
  beforeEach(async () => void (before = await everything()));

  test('one arm', async () => {
    const { arms } = trialInput();
    expectProblem(await send(trialInput({ arms: arms.slice(0, 1) })), 'invalid-input', 400, '#/arms');
    expect(await everything()).toBe(before);
  });
  test('two arms of one name', async () => {
    const [arm] = trialInput().arms;
    const twice = trialInput({ arms: [arm!, { ...arm!, name: arm!.name.toUpperCase() }] });
    expectProblem(await send(twice), 'invalid-input', 400, '#/arms/1/name');
    expect(await everything()).toBe(before);
  });
  test('negative millilitres', async () => {
    const [first, second] = trialInput().arms;
    const negative = trialInput({ arms: [first!, { ...second!, volumeMl: -1 }] });
    expectProblem(await send(negative), 'invalid-input', 400, '#/arms/1/volumeMl');
    expect(await everything()).toBe(before);
  });
  test('text the database cannot hold', async () => {
    expectProblem(await send(trialInput({ title: 'a\u0000b' })), 'invalid-input', 400, '#/title');
    expectProblem(await send(trialInput({ title: '\ud800' })), 'invalid-input', 400, '#/title');
    expect(await everything()).toBe(before);
  });
  test('not JSON', async () => {
    expectProblem(await host.caller.call('POST', '/api/panels', '{"name":'), 'invalid-input', 400);
    expect(await everything()).toBe(before);
  });
});

describe('sessions', () => {
  const send = (change: object) =>
    host.caller.call('POST', `/api/trials/${trial.id}/sessions`, { ...settings(trial), ...change });
  beforeEach(async () => void (before = await everything()));

  test.each([
    ['no assessors', { assessors: 0 }, '#/assessors'],
    ['201 assessors', { assessors: 201 }, '#/assessors'],
    ['negative rest', { restSeconds: -1 }, '#/restSeconds'],
    ['half an assessor', { assessors: 2.5 }, '#/assessors'],
  ])('%s', async (_name, change, pointer) => {
    expectProblem(await send(change), 'invalid-input', 400, pointer);
    expect(await everything()).toBe(before);
  });
  test.each<[string, Partial<TrianglePart>, string]>([
    ['alpha 0', { alpha: 0 }, '#/parts/0/alpha'],
    ['alpha 1', { alpha: 1 }, '#/parts/0/alpha'],
    ['five trays', { replicates: 5 }, '#/parts/0/replicates'],
    ['a share of 0', { meaningfulShare: 0 }, '#/parts/0/meaningfulShare'],
    ['one arm', { armIds: [] }, '#/parts/0/armIds'],
  ])('%s', async (_name, change, pointer) => {
    expectProblem(await send({ parts: [trianglePart(trial, change)] }), 'invalid-input', 400, pointer);
    expect(await everything()).toBe(before);
  });
  test('no part, five parts, a part that nobody knows', async () => {
    const part = trianglePart(trial);
    expectProblem(await send({ parts: [] }), 'invalid-input', 400, '#/parts');
    expectProblem(await send({ parts: Array(5).fill(part) }), 'invalid-input', 400, '#/parts');
    expectProblem(
      await send({ parts: [{ ...part, kind: 'guess' }] }),
      'invalid-input',
      400,
      '#/parts/0/kind',
    );
    expect(await everything()).toBe(before);
  });
  test('parts that do not fit together', async () => {
    const liking = {
      kind: 'liking',
      cups: 'before',
      samples: [],
      replicates: 1,
      cupsEach: null,
      alpha: 0.05,
    };
    expectProblem(await send({ parts: [liking] }), 'invalid-input', 400, '#/parts/0/cups');
    const own = {
      ...liking,
      cups: 'own',
      samples: [{ armId: trial.arms[0]!.id, role: 'spiked', spike: null }],
    };
    expectProblem(await send({ parts: [own] }), 'invalid-input', 400, '#/parts/0/samples/0/spike');
    expect(await everything()).toBe(before);
  });
  test('a spike with what is never added to a cup, also in a draft kept from before', async () => {
    const sample = { armId: trial.arms[0]!.id, role: 'sample', spike: null };
    const spiked = (spike: string) => ({
      kind: 'liking',
      cups: 'own',
      samples: [sample, { ...sample, role: 'spiked', spike, spikeAbv: 'none', spikeAllergens: [] }],
      replicates: 1,
      cupsEach: null,
      alpha: 0.05,
    });
    const pointer = '#/parts/0/samples/1/spike';
    const parts = [spiked('2,4,6-trichlorophenol, 5 mL from the lab bottle')];
    const refused = await send({ parts });
    expectProblem(refused, 'invalid-input', 400, pointer);
    expect((refused.body as ProblemDocument).errors?.[0]?.detail).toMatch(
      /^Never add chlorophenols to a cup: /,
    );
    expect(await everything()).toBe(before);

    const kept = await send({ parts: [spiked('vanillin 2 mg/L, food grade')] });
    expect(kept.status).toBe(200);
    const { id } = kept.body as SessionView;
    await server.database.pool.query(
      'update session set settings = jsonb_set(settings, $2, $3) where id = $1',
      [id, ['parts', '0', 'samples', '1', 'spike'], JSON.stringify('ethane thiol')],
    );
    expect((await host.caller.call('GET', `/api/sessions/${id}`)).status).toBe(200);
    expectProblem(await host.caller.call('POST', `/api/sessions/${id}/seal`), 'invalid-input', 400, pointer);
    await host.caller.call('DELETE', `/api/sessions/${id}`);
  });
  test('the same arm twice', async () => {
    const { id } = trial.arms[0]!;
    const parts = [trianglePart(trial, { armIds: [id, id] })];
    expectProblem(await send({ parts }), 'invalid-input', 400, '#/parts/0/armIds');
    expect(await everything()).toBe(before);
  });
  test('an arm of another trial', async () => {
    const other = await newTrial(host, { title: 'Another' });
    before = await everything();
    expectProblem(
      await send({ parts: [trianglePart(trial, { armIds: [trial.arms[0]!.id, other.arms[0]!.id] })] }),
      'arm-out-of-trial',
      409,
      '#/parts/0/armIds/1',
    );
    expect(await everything()).toBe(before);
  });
  test('a title that names an arm', async () => {
    expectProblem(await send({ title: 'Is warmvessel better?' }), 'title-tells', 409, '#/title');
    expect(await everything()).toBe(before);
  });
  test('a plan that wants more than there is is not sealed', async () => {
    const thirsty = await draft(host, trial, { assessors: 200, cupMl: 100 });
    before = await everything();
    const body = expectProblem(
      await host.caller.call('POST', `/api/sessions/${thirsty.id}/seal`, {}),
      'not-enough-liquid',
      409,
    );
    expect(body.detail).toMatch(/30100 mL/);
    expect(await everything()).toBe(before);
  });
  test('a sealed plan stays as it is, and steps are not skipped', async () => {
    const sealed = await moved(host, await draft(host, trial), 'seal');
    before = await everything();
    const put = await host.caller.call(
      'PUT',
      `/api/sessions/${sealed.id}`,
      settings(trial, { assessors: 11 }),
    );
    expectProblem(put, 'wrong-state', 409);
    for (const step of ['seal', 'close', 'reveal']) {
      expectProblem(
        await host.caller.call('POST', `/api/sessions/${sealed.id}/${step}`, {}),
        'wrong-state',
        409,
      );
    }
    const renamed = await host.caller.call('PATCH', `/api/trials/${trial.id}/arms/${trial.arms[0]!.id}`, {
      name: 'New',
    });
    expectProblem(renamed, 'arm-sealed', 409);
    expect(await everything()).toBe(before);
  });
  test('a steward neither seals nor reveals', async () => {
    const steward = await invited(host, 'steward', 'Pourer');
    const planned = await draft(host, trial);
    before = await everything();
    expectProblem(
      await steward.caller.call('POST', `/api/sessions/${planned.id}/seal`, {}),
      'not-allowed',
      403,
    );
    expect(await everything()).toBe(before);
  });
});

describe('ballots', () => {
  let open: SessionView;
  let tablet: Caller;
  let view: SeatView;
  beforeAll(async () => {
    open = await moved(
      host,
      await draft(host, trial, { parts: [trianglePart(trial, { replicates: 2 })] }),
      'seal',
      'open',
    );
    tablet = await seated(server.app, open, 1);
    view = await tablet.ok<SeatView>('GET', '/api/seat');
  });
  beforeEach(async () => void (before = await everything()));
  const send = (body: unknown, from = tablet) => from.call('POST', '/api/seat/ballots', body);

  test('a cup that is not on the tray', async () => {
    const elsewhere = view.trays[1]!.servings[0]!.code;
    expectProblem(
      await send(ballotFor(view.trays[0]!, elsewhere)),
      'cup-not-on-tray',
      422,
      '#/answer/chosen/0',
    );
    expect(await everything()).toBe(before);
  });
  test('a tray of another seat', async () => {
    const other = await seated(server.app, open, 2);
    const [tray] = (await other.ok<SeatView>('GET', '/api/seat')).trays;
    before = await everything();
    expectProblem(await send(ballotFor(tray!, tray!.servings[0]!.code)), 'not-found', 404, '#/trayId');
    expect(await everything()).toBe(before);
  });
  test('the same again gets the first answer; a different one is refused with what is stored', async () => {
    const [tray] = view.trays;
    const ballot = ballotFor(tray!, tray!.servings[1]!.code, { comment: 'first' });
    const first = await send(ballot);
    expect(first.status).toBe(200);
    before = await everything();
    const again = await send(ballot);
    expect({ status: again.status, text: again.text }).toEqual({ status: 200, text: first.text });
    const differing = [
      { ...ballot, answer: { ...ballot.answer, chosen: [tray!.servings[0]!.code] } },
      { ...ballot, answer: { ...ballot.answer, confidence: 'guess' } },
      ballotFor(tray!, tray!.servings[0]!.code),
    ];
    for (const other of differing) {
      const { stored } = expectProblem(await send(other), 'ballot-differs', 409);
      expect(stored?.answer).toEqual(ballot.answer);
    }
    expect(await everything()).toBe(before);
  });
  test('twenty at once count once', async () => {
    const racer = await seated(server.app, open, 3);
    const [tray] = (await racer.ok<SeatView>('GET', '/api/seat')).trays;
    const ballot = ballotFor(tray!, tray!.servings[1]!.code);
    const answers = await Promise.all(Array.from({ length: 20 }, () => send(ballot, racer)));
    expect(new Set(answers.map(({ status, text }) => `${status} ${text}`)).size).toBe(1);
    const { rows } = await server.database.pool.query(
      'select count(*)::int as n from ballot where tray_id = $1',
      [tray!.id],
    );
    expect(rows[0].n).toBe(1);
  });
  test('one megabyte of comment', async () => {
    const tray = view.trays[1]!;
    const ballot = ballotFor(tray, tray.servings[0]!.code, { comment: 'x'.repeat(1_000_000) });
    expectProblem(await send(ballot), 'too-large', 413);
    expectProblem(await send({ ...ballot, comment: 'x'.repeat(501) }), 'invalid-input', 400, '#/comment');
    expect(await everything()).toBe(before);
  });
  test('a word the vocabulary does not have', async () => {
    const tray = view.trays[1]!;
    expectProblem(
      await send(ballotFor(tray, tray.servings[0]!.code, {}, { descriptors: ['no-such-word'] })),
      'invalid-input',
      400,
      '#/answer/descriptors/0',
    );
    expect(await everything()).toBe(before);
  });
  test('no seat', async () => {
    expectProblem(await send(ballotFor(view.trays[0]!, '123'), new Caller(server.app)), 'seat-unknown', 401);
    expect(await everything()).toBe(before);
  });
  test('an answer after closing; one that is on disk is still acknowledged', async () => {
    const closing = await moved(
      host,
      await draft(host, trial, { parts: [trianglePart(trial, { replicates: 2 })] }),
      'seal',
      'open',
    );
    const late = await seated(server.app, closing, 1);
    const { trays } = await late.ok<SeatView>('GET', '/api/seat');
    const kept = ballotFor(trays[0]!, trays[0]!.servings[0]!.code);
    const receipt = await send(kept, late);
    await moved(host, closing, 'close');
    before = await everything();
    expectProblem(await send(ballotFor(trays[1]!, trays[1]!.servings[0]!.code), late), 'wrong-state', 409);
    expect((await send(kept, late)).text).toBe(receipt.text);
    expect(await everything()).toBe(before);
  });
});

describe('ways in', () => {
  test('a wrong join code, the twentieth within a minute, and a full room behind the same address', async () => {
    const open = await moved(host, await draft(host, trial, { assessors: 30 }), 'seal', 'open');
    const guess = () => new Caller(server.app).call('POST', '/api/join', { code: 'AAAA 3333' });
    for (let seat = 1; seat <= 30; seat++) await seated(server.app, open, seat);
    for (let attempt = 1; attempt <= 19; attempt++) expectProblem(await guess(), 'join-refused', 403);
    const limited = await guess();
    expectProblem(limited, 'too-many-attempts', 429);
    expect(Number(limited.headers['retry-after'])).toBeGreaterThan(0);
    const byQr = await new Caller(server.app).call('POST', '/api/join', { token: open.join!.token });
    expect(byQr.status).toBe(200);
  });
  test('a code that is not one', async () => {
    expectProblem(
      await new Caller(server.app).call('POST', '/api/join', { code: 'ABC' }),
      'invalid-input',
      400,
    );
  });
  test('an expired, a used and an unknown link', async () => {
    const invite = async () =>
      (
        await host.caller.ok<{ token: string }>('POST', `/api/panels/${host.panel}/invitations`, {
          role: 'steward',
        })
      ).token;
    const accept = (token: string, name: string) =>
      new Caller(server.app).call('POST', '/api/invitations/accept', { token, name, passphrase: PASSPHRASE });
    const used = await invite();
    expect((await accept(used, 'Once')).status).toBe(200);
    before = await everything();
    expectProblem(await accept(used, 'Twice'), 'link-expired', 410);
    expectProblem(await accept('A'.repeat(22), 'Guesser'), 'link-expired', 410);
    const old = await invite();
    server.clock.now = new Date(server.clock.now.getTime() + 8 * 86_400_000);
    expectProblem(await accept(old, 'Late'), 'link-expired', 410);
    expect(await everything()).toBe(before);
    server.clock.now = new Date(server.clock.now.getTime() - 8 * 86_400_000);
  });
  test('a wrong passphrase, too often', async () => {
    const guess = () =>
      new Caller(server.app).call('POST', '/api/sign-in', { name: 'Host', passphrase: 'wrong' });
    expectProblem(await guess(), 'wrong-credentials', 401);
    const answers = await Promise.all(Array.from({ length: 10 }, guess));
    expectProblem(answers.find(({ status }) => status === 429) ?? answers[0]!, 'too-many-attempts', 429);
  });
  test('a request from another site', async () => {
    const answer = await server.app.inject({
      method: 'POST',
      url: '/api/sign-out',
      headers: {
        origin: 'https://elsewhere.example',
        cookie: host.caller.cookie ?? '',
        'content-type': 'application/json',
      },
      payload: '{}',
    });
    expect(answer.json()).toMatchObject({ type: '/problems/foreign-origin', status: 403 });
    expect((await host.caller.call('GET', '/api/me')).status).toBe(200);
  });
  test('the first host is made once', async () => {
    expect(await server.app.firstHostToken()).toBeNull();
    const again = { token: 'A'.repeat(22), panel: 'P', name: 'Other', passphrase: PASSPHRASE };
    expectProblem(await new Caller(server.app).call('POST', '/api/first-host', again), 'already-set-up', 409);
  });
  test('an address of nothing', async () => {
    expectProblem(await host.caller.call('GET', '/api/nothing'), 'not-found', 404);
    expectProblem(await host.caller.call('GET', '/api/sessions/not-an-id'), 'invalid-input', 400);
  });
});
