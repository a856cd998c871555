import type { PublishPreview } from '@oddglass/shared/contracts/publishing.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { verifyAnswers } from '@oddglass/shared/design/answer-seal.ts';
import { expect, test } from 'vitest';
import {
  Caller,
  draft,
  moved,
  newTrial,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import {
  expectProblem,
  guests,
  playedEvening,
  publish,
  publishing,
  type Evening,
} from '../support/publishing.ts';

// What was answered is sealed when the tasting closes, and what was found when the key turns: whoever bends either
// afterwards, in the database or by receipts, is seen.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

const play = (count: number): Promise<Evening> => playedEvening(server, { host, steward }, guests(count));
const resultOf = ({ session }: Evening) =>
  host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
const run = (sql: string, ...values: unknown[]) => server.database.pool.query(sql, values);
const caveatsOf = ({ parts }: ResultDocument): string =>
  parts.flatMap(({ caveats }) => caveats.map(({ text }) => text)).join('\n');

test('every person finds their own answers under the root that the table was shown', async () => {
  const evening = await play(10);
  const { root, answersRoot } = await host.caller.ok<SessionView>(
    'GET',
    `/api/sessions/${evening.session.id}`,
  );
  expect(answersRoot).toMatch(/^[0-9a-f]{64}$/);
  expect(answersRoot).not.toBe(root);
  for (const [at, receipt] of evening.receipts.entries()) {
    const seat = await evening.tablets[at]!.ok<SeatView>('GET', '/api/seat');
    expect(seat.session.answersRoot).toBe(answersRoot);
    const { sealed } = await receipt.ok<ReceiptView>('GET', '/api/receipt');
    expect(verifyAnswers(sealed!)).toBe(true);
    expect(sealed).toMatchObject({ root: answersRoot, size: 10 });
    expect(sealed!.text).toContain(seat.trays[0]!.sheets[0]!.ballot!.id);
  }
  const result = await resultOf(evening);
  expect(result.session).toMatchObject({ answersRoot, answersIntact: true });
});

test('before the close there is no root, and nothing of the seal tells how anybody answered', async () => {
  const session = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
  expect(session.answersRoot).toBeNull();
  const closed = await moved(host, session, 'close');
  // Nobody came: a seal of nothing is one too.
  expect(closed.answersRoot).toMatch(/^[0-9a-f]{64}$/);
});

test.each([
  [
    'flipped',
    `update ballot set answer = jsonb_set(answer, '{chosen,0}', (select to_jsonb(code) from serving
       where serving.tray_id = ballot.tray_id and code <> ballot.answer->'chosen'->>0 limit 1)) where id = $1`,
  ],
  ['given another comment', `update ballot set comment = 'bent' where id = $1`],
  ['deleted', 'delete from ballot where id = $1'],
] as const)('an answer that is %s in the database is told, and nothing is published', async (_, sql) => {
  const evening = await play(10);
  expect(caveatsOf(await resultOf(evening))).not.toContain('not those that were sealed');
  const { rows } = await run('select id from ballot where session_id = $1 limit 1', evening.session.id);
  await run(sql, (rows[0] as { id: string }).id);
  const result = await resultOf(evening);
  expect(result.session.answersIntact).toBe(false);
  expect(caveatsOf(result)).toContain('The answers are not those that were sealed when the tasting closed');
  await refusedToPublish(evening, 'not those that were sealed');
});

test('an answer added after the close is told, with the leaves made anew to fit as well', async () => {
  const evening = await play(11);
  const { id } = evening.session;
  await run(
    `update answer_leaf set hash = encode(sha256(hash::bytea), 'hex') where session_id = $1 and index = 0`,
    id,
  );
  expect((await resultOf(evening)).session.answersIntact).toBe(false);
  const other = await play(10);
  const { rows } = await run(
    'select seat_id from answer_leaf where session_id = $1 and index = 3',
    other.session.id,
  );
  await run('delete from answer_leaf where seat_id = $1', (rows[0] as { seat_id: string }).seat_id);
  expect((await resultOf(other)).session.answersIntact).toBe(false);
  await refusedToPublish(other, 'not those that were sealed');
});

test('a plan or a key that is not the sealed one is found before publishing', async () => {
  const settings = await play(10);
  await run(
    `update session set settings = jsonb_set(settings, '{parts,0,alpha}', '0.2') where id = $1`,
    settings.session.id,
  );
  await refusedToPublish(settings, 'alpha');

  // Each wrong ballot's chosen cup is made the odd one, in the key that results read.
  const key = await play(10);
  await run(
    `update serving_key set sample_id = case when sample_id = pair.one then pair.two else pair.one end
     from (select (array_agg(id))[1] as one, (array_agg(id))[2] as two from sample_key where session_id = $1) as pair
     where serving_key.session_id = $1 and serving_id in (
       select serving.id from serving join tray on tray.id = serving.tray_id join seat on seat.id = tray.seat_id
       where tray.session_id = $1 and seat.number = 3)`,
    key.session.id,
  );
  await refusedToPublish(key, 'does not agree with its seal');
});

test('a plan sealed anew shows to whoever kept a receipt: the root in its link is the one of the evening', async () => {
  const evening = await play(3);
  const { root } = await evening.receipts[0]!.ok<ReceiptView>('GET', '/api/receipt');
  expect(root).toBe(evening.session.root);
  await run('update session set root = $2 where id = $1', evening.session.id, 'e'.repeat(64));
  const later = await evening.receipts[0]!.ok<ReceiptView>('GET', '/api/receipt');
  // The page holds this against the root that its link carries (test/flow/hand-over).
  expect(later.root).not.toBe(root);
});

test('a withdrawal after the reveal leaves its record, and says both', async () => {
  const evening = await play(12);
  const before = await resultOf(evening);
  const [part] = before.parts;
  const record = before.atReveal!.parts[0]!;
  expect(before.atReveal!.withdrawnSince).toBe(0);
  expect(part?.kind === 'triangle' && [part.test.counted, part.test.answers, part.test.p]).toEqual([
    record.counted,
    record.answers,
    record.p,
  ]);
  expect([record.counted, record.answers]).toEqual([8, 12]);

  // Somebody holds the receipts of the four who were wrong, and takes them back one by one.
  const wrong = evening.receipts.filter((_, index) => index % 3 === 2);
  for (const [at, receipt] of wrong.entries()) {
    await receipt.ok('POST', '/api/receipt/withdraw', {});
    const result = await resultOf(evening);
    expect(result.atReveal).toEqual({ parts: [record], withdrawnSince: at + 1 });
    // Eight of eight beside eight of twelve would say that all four were wrong: it is never told.
    expect(result.parts).toEqual([]);
    expect(result.withheld?.[0]).toMatchObject({ part: 1, headline: record.headline });
    expect(result.withheld?.[0]?.lede).toContain('8 of 12');
    const csv = await host.caller.call('GET', `/api/sessions/${evening.session.id}/result.csv`);
    expect(csv.text.trim().split('\n')).toHaveLength(1);
    const figures = await host.caller.call('GET', `/api/sessions/${evening.session.id}/figures.csv`);
    expect(figures.text).not.toContain(',8\r');
  }
  expect((await resultOf(evening)).session.answersIntact).toBe(true);
  const stored = await run('select reveal_record from session where id = $1', evening.session.id);
  expect(stored.rows[0]).toEqual({ reveal_record: { parts: [record], withdrawn: 0 } });
});

test('three who did not all say the same: both counts stand on the page and in what is published', async () => {
  const evening = await play(15);
  for (const at of [0, 1, 2]) await evening.receipts[at]!.ok('POST', '/api/receipt/withdraw', {});
  const result = await resultOf(evening);
  expect(result.withheld).toEqual([]);
  expect(result.parts[0]!.served.assessors).toBe(12);
  const said = result.parts[0]!.caveats[0]!.text;
  expect(said).toContain('Three people took their answers back after the reveal');
  expect(said).toContain('10 of 15');
  const { address } = await publish(host, evening);
  const document = await new Caller(server.app).ok<{
    sessions: { atReveal: { parts: { counted: number; headline: string }[] }; seal: object }[];
    tastings: object;
  }>('GET', `/api/p/${address}/result.json`);
  const [told] = document.sessions;
  expect(told!.atReveal).toMatchObject({
    withdrawnSince: 3,
    parts: [{ counted: 10, answers: 15, headline: 'A difference was shown.' }],
  });
  expect(told!.seal).toMatchObject({ answersSize: 15 });
  expect(document.tastings).toEqual({ sealed: 1, revealed: 1 });
});

test('one who left after the reveal: readers get the count of the reveal and no other', async () => {
  const evening = await play(12);
  await evening.receipts[0]!.ok('POST', '/api/receipt/withdraw', {});
  const { address } = await publish(host, evening);
  const page = await new Caller(server.app).call<{
    sessions: { parts: object[]; orders: object[]; rows: object[] | null; withheld: { lede: string }[] }[];
  }>('GET', `/api/p/${address}/result.json`);
  const [told] = page.body.sessions;
  expect([told!.parts, told!.orders, told!.rows]).toEqual([[], [], []]);
  expect(told!.withheld[0]!.lede).toContain('8 of 12');
});

test('other tastings of the trial are counted, those that were sealed and never told among them', async () => {
  const first = await play(10);
  await moved(host, await draft(host, first.trial), 'seal');
  await draft(host, first.trial);
  const again = await playedEvening(server, { host, steward }, guests(10), {}, first.trial);
  const { address } = await publish(host, again);
  const document = await new Caller(server.app).ok<{ tastings: object }>(
    'GET',
    `/api/p/${address}/result.json`,
  );
  expect(document.tastings).toEqual({ sealed: 3, revealed: 2 });
});

async function refusedToPublish(evening: Evening, says: string): Promise<void> {
  const { trial, session } = evening;
  const path = `/api/trials/${trial.id}/publications`;
  const refused = await host.caller.call('POST', path, publishing(trial, [session]));
  expectProblem(refused, 'not-publishable', 409);
  expect(refused.text).toContain(says);
  const preview = await host.caller.call<PublishPreview>(
    'POST',
    `${path}/preview`,
    publishing(trial, [session]),
  );
  expect(preview.status).toBe(200);
}
