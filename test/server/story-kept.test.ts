import { randomUUID } from 'node:crypto';
import { Analyst } from '@oddglass/server/analyst/analyst.ts';
import { ByContent } from '@oddglass/server/features/story/by-content.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import type { ReadingView } from '@oddglass/shared/contracts/reading.ts';
import { story, type Story } from '@oddglass/shared/contracts/story.ts';
import { afterEach, expect, test, vi } from 'vitest';
import { draft, moved, useStewardsPanel, type Hosted, type TestServer } from '../support/app.ts';
import { guests, playedEvening } from '../support/publishing.ts';
import { readingOf } from '../support/readings.ts';

// A story is kept by what it stands on: whatever changes is told at once, and what did not change is not worked out again.

let server: TestServer;
let host: Hosted;
let steward: Hosted;
useStewardsPanel((panel) => ({ server, host, steward } = panel));
afterEach(() => vi.restoreAllMocks());

test('a reading, its correction, a reveal, a withdrawal and a corrected trial show at once', async () => {
  const analyse = vi.spyOn(Analyst.prototype, 'analyse');
  const tell = vi.spyOn(Analyst.prototype, 'tell');
  const { trial, session, receipts } = await playedEvening(server, { host, steward }, guests(12));
  const read = async (): Promise<Story> =>
    story.parse((await host.caller.call('GET', `/api/trials/${trial.id}/story`)).body);
  const first = await read();
  expect(first.sessions.map(({ sessionId }) => sessionId)).toEqual([session.id]);
  expect(first.differences[0]?.points[0]?.answers).toBe(12);

  analyse.mockClear();
  tell.mockClear();
  expect(await read()).toEqual(first);
  expect(await Promise.all([read(), read()])).toEqual([first, first]);
  expect(analyse).not.toHaveBeenCalled();
  expect(tell).not.toHaveBeenCalled();

  const pull = randomUUID();
  const [arm] = trial.arms;
  await host.caller.ok<TrialPulls>('POST', `/api/trials/${trial.id}/pulls`, {
    pulls: [{ id: pull, name: 'Day 3', when: { kind: 'day', on: '2031-03-04' } }],
  });
  expect((await read()).pulls.map(({ name }) => name)).toEqual(['Day 3']);
  const note = (ph: string, replaces: string | null) =>
    host.caller.ok<ReadingView>('POST', `/api/pulls/${pull}/arms/${arm!.id}/readings`, {
      ...readingOf({ ph }),
      replaces,
    });
  const phs = async () =>
    (await read()).readings.flatMap(({ lines }) =>
      lines.flatMap(({ points }) => points.map(({ value }) => value)),
    );
  const reading = await note('4.1', null);
  expect(await phs()).toEqual([4.1]);
  await note('4.3', reading.id);
  expect(await phs()).toEqual([4.3]);

  await host.caller.ok('POST', `/api/trials/${trial.id}/arms/${arm!.id}/deviations`, {
    on: '2031-03-04',
    note: 'The cellar was warm for a day.',
  });
  expect((await read()).signs.map(({ text }) => text)).toContain('The cellar was warm for a day.');

  await host.caller.ok('PATCH', `/api/trials/${trial.id}`, { title: 'Corrected title' });
  expect((await read()).trial.title).toBe('Corrected title');

  await receipts[0]!.ok('POST', '/api/receipt/withdraw', {});
  // One person's answer would be told by two counts side by side, so the part stands no more.
  const without = await read();
  expect(without.differences).toEqual([]);
  expect(without.sessions[0]?.left).toBe(1);

  await playedEvening(server, { host, steward }, guests(9), { title: 'Second' }, trial);
  const two = await read();
  expect(two.sessions).toHaveLength(2);
  expect(two.differences[0]?.points.map(({ answers }) => answers)).toEqual([9]);
});

test('lists have a small plot once the key has turned, and nothing of a session before', async () => {
  const { trial, session } = await playedEvening(server, { host, steward }, guests(12));
  const sealed = await moved(host, await draft(host, trial), 'seal');
  const { sessions } = await host.caller.ok<PanelView>('GET', `/api/panels/${host.panel}`);
  const found = (id: string) => sessions.find((one) => one.id === id)?.findings;
  // Every third guest was wrong; a third is right by guessing.
  expect(found(session.id)).toEqual([
    {
      sentence: expect.stringContaining('found the odd one'),
      drawn: { answers: 12, counted: 8, expected: 4 },
    },
  ]);
  expect(found(sealed.id)).toEqual([]);
});

test('what failed is tried again, and what is not asked for leaves', async () => {
  const make = vi.fn(async (content: { n: number }) => {
    if (content.n === 3 && make.mock.calls.length < 4) throw new Error('not now');
    return content.n;
  });
  const kept = new ByContent(2, make);
  expect([await kept.get({ n: 1 }), await kept.get({ n: 2 }), await kept.get({ n: 1 })]).toEqual([1, 2, 1]);
  expect(make).toHaveBeenCalledTimes(2);
  await expect(kept.get({ n: 3 })).rejects.toThrow('not now');
  expect(await kept.get({ n: 3 })).toBe(3);
  expect(await kept.get({ n: 1 })).toBe(1);
  expect(make).toHaveBeenCalledTimes(4);
  await kept.get({ n: 2 });
  expect(make).toHaveBeenCalledTimes(5);
});
