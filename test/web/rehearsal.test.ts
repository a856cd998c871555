import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import type { Simulation } from '@oddglass/shared/contracts/rehearsal.ts';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { createServer, type ViteDevServer } from 'vite';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { putInRows } from '../../web/src/lib/rehearsal/put-in-rows.ts';
import type { RehearsalDraft } from '../../web/src/lib/rehearsal/rehearsal-draft.svelte.ts';
import { putInWords } from '../../web/src/lib/rehearsal/rehearsal-words.ts';
import { fixtureSession, PARTS } from '../publication/package-fixture.ts';

// What was put in beside what was found, as a host reads it.

// The draft holds its state in runes, which only Svelte's compiler understands.
let vite: ViteDevServer;
let Draft: typeof RehearsalDraft;
beforeAll(async () => {
  vite = await createServer({
    root: new URL('../../web', import.meta.url).pathname,
    configFile: false,
    plugins: [svelte({ configFile: false })],
    logLevel: 'error',
    optimizeDeps: { noDiscovery: true },
    server: { middlewareMode: true, ws: false, watch: null },
  });
  const path = '/src/lib/rehearsal/rehearsal-draft.svelte.ts';
  ({ RehearsalDraft: Draft } = (await vite.ssrLoadModule(path)) as { RehearsalDraft: typeof RehearsalDraft });
});
afterAll(() => vite?.close());

const SIMULATION: Simulation = {
  people: 12,
  dPrime: 1.5,
  attributeSteps: {},
  positionBias: 0,
  careless: 0,
  leaving: { share: 0, from: 0, to: 1 },
  pace: null,
  seed: '0123456789abcdef',
};

describe('what was put in beside what was found', () => {
  test.each(PARTS.map((_, at) => at + 1))('evening %s: every part says both', (evening) => {
    const result = analyseSession(fixtureSession(evening, 1).input);
    const rows = putInRows(result, SIMULATION);
    const named = new Set(rows.map(({ name }) => name));
    expect(named.size).toBe(rows.length);
    for (const { part } of result.parts)
      if (result.parts.length > 1)
        expect([...named].some((name) => name.startsWith(`Part ${part}, `))).toBe(true);
    for (const { put, found } of rows) {
      expect(put).not.toMatch(/NaN|undefined|null/);
      expect(found).not.toMatch(/NaN|undefined|null/);
      expect(found.length).toBeGreaterThan(1);
    }
  });

  test('a triangle: the share by the psychometric function, and the distance itself', () => {
    const result = analyseSession(fixtureSession(1, 1).input);
    const [share, distance] = putInRows({ ...result, parts: result.parts.slice(0, 1) }, SIMULATION);
    // Triangle at d-prime 1.5: 0.5065 (Ennis 1993).
    expect(share).toMatchObject({ name: 'right answers', put: '51\u00a0%' });
    expect(distance).toMatchObject({ name: 'distance (d′)', put: '1.5' });
    expect(distance?.found).toMatch(/interval .* to /);
  });
});

test('the people in words', () => {
  expect(putInWords(SIMULATION)).toEqual([
    'Twelve people; arms lie 1.5 apart (d′).',
    'Nobody answers at random, nobody leaves and no cup is favoured for its place.',
    'All come at once.',
  ]);
  const odd = { ...SIMULATION, people: 1, careless: 0.25, leaving: { share: 0.1, from: 0, to: 3 }, pace: 30 };
  expect(putInWords({ ...odd, positionBias: -0.7 })).toEqual([
    'One person; arms lie 1.5 apart (d′).',
    '25\u00a0% of answers at random, 10\u00a0% leave before the end and the last cup seems 0.7 stronger than it is.',
    '30 sit down in a minute.',
  ]);
});

test('a form begins with everybody, in words; a number that is missing is asked for once somebody sends it', () => {
  const { settings } = fixtureSession(1, 1).input;
  const draft = new Draft(settings);
  expect(draft.input).toMatchObject({ people: settings.assessors, dPrime: 1.5, careless: 0, pace: 30 });
  expect(draft.input?.seed).toBeUndefined();
  draft.difference = 'own';
  expect(draft.input).toBeUndefined();
  expect(draft.notes).toEqual({});
  draft.tried = true;
  expect(draft.notes).toEqual({ '#/dPrime': 'Give a number.' });
  draft.dPrime = 2;
  draft.seed = ' 0123456789ABCDEF ';
  expect(draft.input).toMatchObject({ dPrime: 2, seed: '0123456789abcdef' });
});
