import { story, storyLine } from '@oddglass/shared/contracts/story.ts';
import { expect, test } from 'vitest';
import {
  draft,
  moved,
  newTrial,
  strangeHost,
  usePanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { foundFit } from '../support/factories.ts';
import { playSession } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';

let server: TestServer;
let host: Hosted;
usePanel((panel) => ({ server, host } = panel));

test('two evenings and one before its reveal make a story that tells nothing of the third', async () => {
  const trial = await newTrial(host);
  const path = `/api/trials/${trial.id}/story`;
  const empty = story.parse((await host.caller.call('GET', path)).body);
  expect(empty.sessions).toEqual([]);
  expect(empty.finding.headline).toBe('No session of this trial is revealed yet.');

  const parts = storyParts(trial);
  const settings = { assessors: 12, spareSeats: 0, parts };
  await playSession(server, host, trial, { ...settings, title: 'Day 2' }, palate(4, 0));
  server.clock.now = new Date(server.clock.now.getTime() + 2 * 86_400_000);
  await foundFit(
    (method, at, body) => host.caller.ok(method, at, body),
    trial,
    server.clock.now.toISOString(),
  );
  const sealed = await moved(host, await draft(host, trial, { ...settings, title: 'Day 30' }), 'seal');
  await playSession(server, host, trial, { ...settings, title: 'Day 4' }, palate(12, 30));

  const answer = await host.caller.call('GET', path);
  expect(answer.status).toBe(200);
  const told = story.parse(answer.body);
  expect(told.sessions.map(({ title }) => title)).toEqual(['Day 2', 'Day 4']);
  expect(told.sessions[1]!.x - told.sessions[0]!.x).toBe(2);
  expect(told.waiting).toEqual([{ id: sealed.id, title: 'Day 30', state: 'sealed' }]);
  // 4 of 12 and 12 of 12: R 4.2.2, d_primes(c(1, 4, 12, 12, 12)) of test/reference/methods.R.
  const [difference] = told.differences;
  expect(difference?.points.map(({ counted, answers }) => [counted, answers])).toEqual([
    [4, 12],
    [12, 12],
  ]);
  expect(difference?.change?.p).toBeCloseTo(1.34607618791e-3, 12);
  expect(told.attributes[0]?.change?.adjusted).toBeLessThan(0.01);
  expect(told.tests).toBe(2);
  const without = JSON.stringify({ ...told, waiting: [] });
  expect(without).not.toContain(sealed.id);
  expect(without).not.toContain(sealed.root);
  const line = storyLine.parse((await host.caller.call('GET', `${path}-line`)).body);
  expect(line.headline).toBe(told.finding.headline);

  const stranger = await strangeHost(host);
  expect((await stranger.caller.call('GET', path)).status).toBe(404);
});
