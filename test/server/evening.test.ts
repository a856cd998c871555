import { readFileSync } from 'node:fs';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { TrianglePart } from '@oddglass/shared/contracts/part.ts';
import { choiceResult, type ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SealView } from '@oddglass/shared/contracts/seal.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings, SessionView } from '@oddglass/shared/contracts/session.ts';
import { proveLeaf, verifyLeaf, verifySeal } from '@oddglass/shared/design/seal.ts';
import { expect, test } from 'vitest';
import {
  draft,
  moved,
  newTrial,
  seated,
  useStewardsPanel,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { ballotFor, oddCodes, trianglePart } from '../support/factories.ts';

// Whole evenings over the API; figures against the published and independently computed values of the reference.

interface ReferenceCase {
  id: string;
  input: { correct: number; n: number; test?: string }[];
  expected: number[];
}
const reference = JSON.parse(
  readFileSync(new URL('../reference/reference-values.json', import.meta.url), 'utf8'),
) as ReferenceCase[];

let server: TestServer;
let host: Hosted;
let steward: Hosted;

useStewardsPanel((panel) => ({ server, host, steward } = panel));

/** Plays an evening in which the given trays are told right; '-' leaves a tray unanswered. */
async function evening(
  change: Partial<SessionSettings>,
  script: string[],
  planned: Partial<TrianglePart> = {},
): Promise<{ session: SessionView; result: ChoiceResult }> {
  const trial = await newTrial(host);
  await host.caller.ok('POST', `/api/trials/${trial.id}/arms/${trial.arms[1]!.id}/deviations`, {
    on: '2031-02-20',
    note: 'Lid was off for an hour.',
  });
  const session = await moved(
    host,
    await draft(host, trial, { parts: [trianglePart(trial, planned)], ...change }),
    'seal',
    'open',
  );
  const odd = oddCodes(await steward.caller.ok<PourView>('GET', `/api/sessions/${session.id}/pour`));
  for (const [index, answers] of script.entries()) {
    const tablet = await seated(server.app, session, index + 1);
    const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
    for (const [number, answer] of [...answers].entries()) {
      const tray = trays[number]!;
      const right = odd.get(`${index + 1}/${number + 1}`)!;
      const wrong = tray.servings.find(({ code }) => code !== right)!.code;
      if (answer !== '-')
        await tablet.ok('POST', '/api/seat/ballots', ballotFor(tray, answer === 'r' ? right : wrong));
    }
  }
  const revealed = await moved(host, session, 'close', 'reveal');
  return {
    session: revealed,
    result: await choiceOf(session),
  };
}

/** The result of the only part, a difference test. */
async function choiceOf(session: SessionView): Promise<ChoiceResult> {
  const { parts } = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  return choiceResult.parse(parts[0]);
}

const script = (right: number, of: number) =>
  Array.from({ length: of }, (_, index) => (index < right ? 'r' : 'w'));

test('nine of twelve: critical number and exact p as published (ISO 4120 table; exact binomial)', async () => {
  const { result, session } = await evening({}, script(9, 12));
  const published = reference.find(({ id }) => id === 'pvalue-one-sided')!;
  const place = published.input.findIndex(
    ({ correct, n, test: kind }) => kind === 'triangle' && correct === 9 && n === 12,
  );
  expect(result.test.p).toBeCloseTo(published.expected[place]!, 12);
  expect(result.test).toMatchObject({ counted: 9, answers: 12, critical: 8, alpha: 0.05 });
  expect(result.finding.verdict).toBe('difference-shown');
  expect(result.finding.headline).toBe(
    'Nine of twelve found the odd one. Guessing alone reaches that 4 times in 1,000.',
  );
  expect(result.caveats).toContainEqual({
    from: 'deviation',
    arm: 'Warmvessel',
    on: '2031-02-20',
    text: 'Lid was off for an hour.',
  });
  expect(result.orders.balanced).toBe(true);
  expect(result.replicates).toBeNull();
  expect(JSON.stringify(result)).not.toMatch(/"seat"|"code"/);
  expect(session.blinding).toBe('double');
});

test('five of twelve is never written as the same', async () => {
  const { result } = await evening({}, script(5, 12));
  expect(result.finding.verdict).toBe('difference-not-shown');
  expect(JSON.stringify(result.finding)).not.toMatch(
    /the same|no difference(?! was demonstrated)|almost|trend/i,
  );
  expect(result.finding.lede).toMatch(/chance of 63 %/);
});

test('replicates are named as such and do not count as people', async () => {
  const { result } = await evening({ assessors: 6 }, ['rrr', 'rrr', 'www', 'rrw', 'wwr', 'r-w'], {
    replicates: 3,
  });
  expect(result.served).toEqual({ seated: 6, assessors: 6, answers: 17, unanswered: 1 });
  expect(result.replicates?.reading).toMatch(/17 answers came from six people/);
  expect(result.replicates?.effectiveAnswers).toBeLessThan(17);
  expect(result.caveats.map(({ from }) => from)).toContain('design');
});

test('similarity rests on one answer per person', async () => {
  const { result } = await evening(
    { assessors: 30, cupMl: 5 },
    Array.from({ length: 30 }, (_, index) => (index < 9 ? 'rr' : 'wr')),
    { replicates: 2, aim: 'similarity', meaningfulShare: 0.4, beta: 0.05 },
  );
  expect(result.similarity).toMatchObject({ counted: 9, answers: 30, mostCounted: 13 });
  expect(result.finding.verdict).toBe('similarity-shown');
});

test('nobody answered', async () => {
  const { result } = await evening({}, []);
  expect(result.finding.verdict).toBe('no-data');
  expect(result.test.p).toBe(1);
});

test('the seal holds: root before the first sip, whole and tray by tray after the reveal', async () => {
  const trial = await newTrial(host);
  const sealed = await moved(host, await draft(host, trial), 'seal');
  const before = await host.caller.ok<SealView>('GET', `/api/sessions/${sealed.id}/seal`);
  expect(before).toMatchObject({ root: sealed.root, leaves: null });
  await moved(host, sealed, 'open', 'close', 'reveal');
  const { leaves, root } = await host.caller.ok<SealView>('GET', `/api/sessions/${sealed.id}/seal`);
  expect(root).toBe(before.root);
  expect(verifySeal({ leaves: leaves!, root })).toEqual({ ok: true });
  const tray = leaves!.find(({ kind }) => kind === 'tray')!;
  const proof = proveLeaf(leaves!, tray.index);
  expect(verifyLeaf({ leaf: tray, size: leaves!.length, proof, root })).toBe(true);
  expect(Object.keys(tray.body).sort()).toEqual(['id', 'part', 'replicate', 'servings']);
  const changed = leaves!.map((leaf) =>
    leaf.kind === 'settings' ? { ...leaf, body: { ...leaf.body, assessors: 11 } } : leaf,
  );
  expect(verifySeal({ leaves: changed, root }).ok).toBe(false);
});

test('a host who pours takes the key: single-blind from there on, and said so', async () => {
  const trial = await newTrial(host);
  const sealed = await moved(host, await draft(host, trial), 'seal');
  expect((await host.caller.call('GET', `/api/sessions/${sealed.id}/pour`)).status).toBe(403);
  const single = await moved(host, sealed, 'take-key');
  expect(single.blinding).toBe('single');
  const pour = await host.caller.ok<PourView>('GET', `/api/sessions/${sealed.id}/pour`);
  expect(pour.samples.map(({ arm }) => arm).sort()).toEqual(['Coolvessel', 'Warmvessel']);
  await moved(host, sealed, 'open', 'close', 'reveal');
  const result = await choiceOf(sealed);
  expect(result.caveats.map(({ from }) => from)).toContain('blinding');
});

test('ticks are shared, survive, and can be taken back', async () => {
  const trial = await newTrial(host);
  const sealed = await moved(host, await draft(host, trial), 'seal');
  const path = `/api/sessions/${sealed.id}/pour`;
  const ids = (await steward.caller.ok<PourView>('GET', path)).samples.flatMap(({ cups }) =>
    cups.map(({ servingId }) => servingId),
  );
  const tick = (servingIds: string[], poured: boolean) =>
    steward.caller.ok<{ poured: number }>('POST', `${path}/ticks`, { servingIds, poured });
  expect(await tick(ids.slice(0, 5), true)).toEqual({ poured: 5 });
  expect(await tick(ids.slice(0, 6), true)).toEqual({ poured: 6 });
  expect(await tick(ids.slice(2, 3), false)).toEqual({ poured: 5 });
  const again = await steward.caller.ok<PourView>('GET', path);
  const poured = again.samples.flatMap(({ cups }) =>
    cups.filter((cup) => cup.poured).map(({ servingId }) => servingId),
  );
  expect(poured.sort()).toEqual([...ids.slice(0, 2), ...ids.slice(3, 6)].sort());
  const told = async () =>
    (await host.caller.ok<{ poured: number }>('GET', `/api/sessions/${sealed.id}/board`)).poured;
  // The board waits while a tray is half poured, whichever bottle its cups were from.
  expect(await told()).toBe(0);
  expect(await tick(ids, true)).toEqual({ poured: ids.length });
  expect(await told()).toBe(ids.length);
});
