import type { TrialInput, TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { SealAnnouncement } from '@oddglass/shared/contracts/seal.ts';
import { packageDigest, unzipPackage } from '@oddglass/shared/publication/package.ts';
import {
  draftOf,
  readOriginal,
  replicationOf,
  trialOf,
  type Original,
} from '@oddglass/shared/publication/replicate.ts';
import { verifyPackage } from '@oddglass/shared/publication/verify.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstHost, moved, newTrial, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { foundFit } from '../support/factories.ts';
import { expectProblem, publish } from '../support/publishing.ts';
import { playSession, playTablets } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';

// A tasting that one server published, asked again on another that shares nothing with it but the file.

let first: TestServer;
let second: TestServer;
let host: Hosted;
let other: Hosted;
let zip: Uint8Array;
let original: Original;

beforeAll(async () => {
  [first, second] = await Promise.all([startServer(), startServer()]);
  [host, other] = [await firstHost(first.app), await firstHost(second.app, 'Other')];
  const trial = await newTrial(host);
  const session = await playSession(
    first,
    host,
    trial,
    { title: 'Day 20', assessors: 12, spareSeats: 0, parts: storyParts(trial) },
    palate(8, 6),
  );
  await publish(
    host,
    { trial, session, receipts: [], tablets: [] },
    {
      address: 'original',
      // Masked: the names of the house stay in the house.
      armNames: { [trial.arms[0]!.id]: 'North', [trial.arms[1]!.id]: 'South' },
    },
  );
  const answer = await first.app.inject({ method: 'GET', url: '/api/p/original/package.zip' });
  zip = answer.rawPayload;
  const read = readOriginal(zip);
  if (!read.ok) throw new Error(read.sentences.join(' '));
  original = read;
});
afterAll(() => Promise.all([first.close(), second.close()]));

/** What the page of the other panel makes of the file: a trial with arms, and a draft that is linked. */
async function imported(from: Original): Promise<{ trial: TrialView; session: SessionView }> {
  const { arms, ...words } = trialOf(from.protocol);
  const input: TrialInput = {
    ...words,
    arms: arms.map((arm) => ({ ...arm, volumeMl: 9000, abv: 4, allergens: ['gluten'] })),
  };
  const made = await other.caller.ok<TrialView>('POST', `/api/panels/${other.panel}/trials`, input);
  const trial = await foundFit(
    (method, path, body) => other.caller.ok(method, path, body),
    made,
    second.clock.now.toISOString(),
  );
  const armIds = trial.arms.map(({ id }) => id);
  const session = await other.caller.ok<SessionView>('POST', `/api/trials/${trial.id}/sessions`, {
    ...draftOf(from.protocol, 0, armIds),
    replicates: replicationOf(from, 0, armIds),
  });
  return { trial, session };
}

test('a protocol leaves one server, is asked on another, and the two stand side by side', async () => {
  const text = new TextDecoder().decode(
    unzipPackage(zip).find(({ path }) => path === 'protocol.json')?.bytes,
  );
  expect(JSON.parse(text)).toEqual(original.protocol);
  expect(original.protocol.arms.map(({ name }) => name)).toEqual(['North', 'South']);
  for (const secret of ['Coolvessel', 'Warmvessel', 'Panel of Host', '2031-03'])
    expect(text).not.toContain(secret);

  const { trial, session } = await imported(original);
  expect(session.settings.replicates?.root).toBe(original.protocol.sessions[0]?.root);
  expect(session.settings.parts.map(({ kind }) => kind)).toEqual(['triangle', 'rating']);

  const open = await moved(other, session, 'seal', 'open');
  const announced = await other.caller.ok<SealAnnouncement>(
    'GET',
    `/api/sessions/${session.id}/announcement`,
  );
  expect(announced.settings.body['replicates']).toEqual(session.settings.replicates);
  expect(JSON.stringify(announced.settings.body)).not.toMatch(/North|South/);
  await playTablets(second, open, palate(6, 6), 12);
  const revealed = await moved(other, open, 'close', 'reveal');
  await publish(other, { trial, session: revealed, receipts: [], tablets: [] }, { address: 'again' });

  const view = await other.caller.ok<PublishedView>('GET', '/api/p/again');
  const publication = view.publication!;
  const { beside } = publication.sessions[0]!;
  expect(beside?.replication).toMatchObject({
    title: 'Cool against warm',
    digest: packageDigest(unzipPackage(zip)),
  });
  const [difference, marks] = beside!.rows;
  // 8 of 12 and 6 of 12 in triangles: d-primes 2.3206 and 1.4663 (Ennis 1993, tables of d-prime, from memory).
  expect([difference?.original.counted, difference?.own.counted]).toEqual([8, 6]);
  expect(difference?.original.effect).toBeCloseTo(2.32, 1);
  expect(difference?.own.effect).toBeCloseTo(1.47, 1);
  expect(difference?.apart).toMatchObject({ by: 'likelihood', level: 0.95 });
  expect(difference!.apart!.lower!).toBeLessThan(0);
  expect(difference!.apart!.upper!).toBeGreaterThan(0);
  expect(difference?.reading).toContain('compatible with one and the same size');
  expect(marks).toMatchObject({ measure: 'marks', apart: { by: 'error' } });
  expect(marks?.apart?.estimate).toBeCloseTo(marks!.own.effect! - marks!.original.effect!, 12);
  expect(JSON.stringify(beside)).not.toMatch(/fail|succe/i);

  const again = await second.app.inject({ method: 'GET', url: '/api/p/again/package.zip' });
  expect(verifyPackage(again.rawPayload).filter(({ ok }) => !ok)).toEqual([]);
  const readme = new TextDecoder().decode(
    unzipPackage(again.rawPayload).find(({ path }) => path === 'README.md')?.bytes,
  );
  expect(readme).toContain('This one less the original');
  // A replication can be repeated as well.
  expect(readOriginal(again.rawPayload)).toMatchObject({ ok: true });
});

test('what is repeated is chosen with the draft: it stays when the plan is edited, and cannot be exchanged', async () => {
  const { session } = await imported({ ...original, digest: null, figures: [] });
  const { replicates, ...settings } = session.settings;
  expect(replicates).toMatchObject({ digest: null, figures: [] });
  const path = `/api/sessions/${session.id}`;
  const edited = await other.caller.ok<SessionView>('PUT', path, { ...settings, cupMl: 25 });
  expect(edited.settings).toMatchObject({ cupMl: 25, replicates });
  const exchanged = { ...settings, replicates: { ...replicates!, root: 'a'.repeat(64) } };
  expect(expectProblem(await other.caller.call('PUT', path, exchanged), 'invalid-input', 400)).toEqual([
    '#/replicates',
  ]);
  // Sent back as it was, it is no exchange.
  await other.caller.ok('PUT', path, edited.settings);
});

test('a draft that repeats nothing cannot begin to', async () => {
  const trial = await newTrial(other);
  const armIds = trial.arms.map(({ id }) => id);
  const plain = draftOf(original.protocol, 0, armIds);
  const made = await other.caller.ok<SessionView>('POST', `/api/trials/${trial.id}/sessions`, plain);
  const linked = { ...plain, replicates: replicationOf(original, 0, armIds) };
  const answer = await other.caller.call('PUT', `/api/sessions/${made.id}`, linked);
  expect(expectProblem(answer, 'invalid-input', 400)).toEqual(['#/replicates']);
  const strange = {
    ...plain,
    replicates: replicationOf(
      original,
      0,
      original.protocol.arms.map((_, at) => `00000000-0000-4000-8000-00000000000${at}`),
    ),
  };
  const outside = await other.caller.call('POST', `/api/trials/${trial.id}/sessions`, strange);
  expect(expectProblem(outside, 'arm-out-of-trial', 409)).toEqual(['#/replicates/armIds/0']);
});
