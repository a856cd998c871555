import type { SealAnnouncement, SealView } from '@oddglass/shared/contracts/seal.ts';
import { verifyLeaf } from '@oddglass/shared/design/seal.ts';
import { verifyAnnouncement } from '@oddglass/shared/publication/verify.ts';
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
import { guests, playedEvening, publish } from '../support/publishing.ts';

// What a sealed plan asks can be shown to anybody at once, and held to what is published later.

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

const announced = (session: { id: string }) =>
  host.caller.ok<SealAnnouncement>('GET', `/api/sessions/${session.id}/announcement`);
const failed = (text: string, zip: Uint8Array | null = null): string[] =>
  verifyAnnouncement(text, zip)
    .filter(({ ok }) => !ok)
    .map(({ name }) => name);

test('a draft announces nothing, a sealed plan its settings and nothing of the key, and strangers are told nothing', async () => {
  const trial = await newTrial(host);
  const planned = await draft(host, trial);
  const path = `/api/sessions/${planned.id}/announcement`;
  expect((await host.caller.call('GET', path)).status).toBe(409);
  await moved(host, planned, 'seal');
  const answer = await host.caller.call<SealAnnouncement>('GET', path);
  expect(answer.headers['content-disposition']).toMatch(
    /^attachment; filename="sealed-plan-[0-9A-F-]{14}\.json"$/,
  );
  const { settings, size, root } = answer.body;
  const { proof, ...leaf } = settings;
  expect(verifyLeaf({ leaf, size, proof, root })).toBe(true);
  expect(settings.kind).toBe('settings');
  for (const { id, name } of trial.arms) {
    expect(answer.text).not.toContain(id);
    expect(answer.text).not.toContain(name);
  }
  const codes = await server.database.pool.query<{ code: string }>(
    'select code from serving where session_id = $1',
    [planned.id],
  );
  expect(codes.rows.length).toBeGreaterThan(0);
  for (const { code } of codes.rows) expect(answer.text).not.toMatch(new RegExp(`\\b${code}\\b`));
  expect((await new Caller(server.app).call('GET', path)).status).toBe(401);
  const elsewhere = await host.caller.call('GET', `/api/sessions/${trial.id}/announcement`);
  expect(elsewhere.status).toBe(404);
  const { leaves } = await host.caller.ok<SealView>('GET', `/api/sessions/${planned.id}/seal`);
  expect(leaves).toBeNull();
});

test('what was announced is checked by itself, and beside the package of the evening it was announced for', async () => {
  const evening = await playedEvening(server, { host, steward }, guests(12));
  const text = JSON.stringify(await announced(evening.session));
  const { address } = await publish(host, evening, { listed: true });
  const packed = await server.app.inject({ method: 'GET', url: `/api/p/${address}/package.zip` });
  const zip = new Uint8Array(packed.rawPayload);
  expect(failed(text)).toEqual([]);
  expect(failed(text, zip)).toEqual([]);

  const bent = JSON.parse(text) as SealAnnouncement;
  bent.settings.body['cupMl'] = 1;
  expect(failed(JSON.stringify(bent))).toEqual(['the settings lead to the root']);
  const other = await playedEvening(server, { host, steward }, guests(12));
  const otherText = JSON.stringify(await announced(other.session));
  // Announced, and another tasting told in its place.
  expect(failed(otherText, zip)).toEqual(['a tasting of the package has the announced root']);
  expect(failed('{')).toEqual(['the announcement']);
  expect(failed(text, new Uint8Array([1, 2, 3]))).toEqual(['the announcement']);
});
