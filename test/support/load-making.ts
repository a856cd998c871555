import { setTimeout as wait } from 'node:timers/promises';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { playFaultSession, type FaultHost } from './fault-client.ts';
import { figures } from './load-figures.ts';
import { askedUntil } from './reader-load.ts';

const STRENGTHS = [1, 2, 3] as const;
const BOUND_MS = 100;

/**
 * A publication of several large descriptions: how long the health page takes meanwhile, step by step. Prints; a step with
 * an answer above the bound is marked.
 */
export async function besideMaking(
  hosted: FaultHost,
  { people, sessions, words }: { people: number; sessions: number; words: number },
): Promise<void> {
  const { host, trial } = hosted;
  const { address } = host.service;
  const offered = BUILT_IN.words.slice(0, words).map(({ id }) => id);
  const part: Part = {
    kind: 'description',
    cups: 'own',
    samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    words: offered,
    intensity: true,
  };
  const ids: string[] = [];
  for (let session = 0; session < sessions; session++) {
    ids.push(
      await playFaultSession(hosted, [part], people, () => {
        const picked = offered.filter((_, at) => Math.random() < 0.3 / (1 + at / 12));
        return {
          kind: 'description',
          words: picked.map((id) => ({ id, intensity: STRENGTHS[Math.floor(Math.random() * 3)] ?? 1 })),
          ownWords: [],
          none: picked.length === 0,
        };
      }),
    );
    console.log(`session ${session + 1} of ${sessions}: ${people} people, ${words} words`);
  }
  const draft = {
    sessionIds: ids,
    title: 'An invented description',
    licence: 'CC-BY-4.0',
    armNames: Object.fromEntries(trial.arms.map(({ id, name }) => [id, name])),
    comments: [],
    caveatAnswers: [],
    agreeSmall: false,
    listed: true,
  };
  const tell = async <T>(what: string, work: Promise<T>): Promise<T> => {
    const started = performance.now();
    // From a process of its own: what reads megabytes here is not what waits.
    const { result, times: health } = await askedUntil(`${address}/api/health`, work);
    const seconds = (performance.now() - started) / 1000;
    const { n, p50, p95 } = figures(health);
    const longest = Math.max(...health);
    console.log(
      `${what}: ${seconds.toFixed(1)} s; health ${n} times, p50 ${p50.toFixed(1)} ms, p95 ${p95.toFixed(1)} ms, ` +
        `longest ${longest.toFixed(0)} ms${longest > BOUND_MS ? `  ABOVE ${BOUND_MS} ms` : ''}`,
    );
    return result;
  };
  await tell('nothing', wait(3_000));
  const path = `/api/trials/${trial.id}/publications`;
  await tell('looked at', host.ask('POST', `${path}/preview`, draft));
  const made = await tell('made', host.ask<PublicationView>('POST', path, draft));
  const read = async (at: string) => {
    const response = await fetch(address + at, {
      headers: { 'accept-encoding': 'gzip', cookie: host.cookie ?? '' },
    });
    const { byteLength } = await response.arrayBuffer();
    if (!response.ok) throw new Error(`${at} was answered ${response.status}`);
    return byteLength;
  };
  for (const at of [
    `/p/${made.address}`,
    `/p/${made.address}/picture.png`,
    `/api/p/${made.address}`,
    `/api/p/${made.address}/package.zip`,
    `/api/publications/${made.id}/folder.zip`,
  ])
    console.log(`  ${at}: ${await tell(`first reader of ${at}`, read(at))} bytes`);
}
