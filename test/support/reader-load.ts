import { fork } from 'node:child_process';
import { Agent, get } from 'node:http';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

// A process that reads publications without a pause, as a crawler does: in a process of its own, so that what it costs is
// not taken for what the server does.

export interface ReadingOrder {
  urls: string[];
  /** So many read without a pause; with `perSecond` so many reads begin each second, whether or not those before ended. */
  readers: number;
  perSecond?: number;
  ms: number;
}

export interface ReadingCount {
  reads: number;
  bytes: number;
  failed: number;
  /** Time of each read, in ms. */
  times: number[];
}

/** Reads from another process until the time is over. */
export function readWithoutPause(order: ReadingOrder): Promise<ReadingCount> {
  return new Promise((resolve, reject) => {
    const child = fork(fileURLToPath(import.meta.url), ['read'], { stdio: 'inherit' });
    child.once('message', (count) => {
      resolve(count as ReadingCount);
      child.disconnect();
    });
    child.once('error', reject);
    child.send(order);
  });
}

const agent = new Agent({ keepAlive: true });

/** Bytes as they come over the wire: to unpack them would take the machine's time, not the server's. */
function fetched(url: string): Promise<{ bytes: number; ok: boolean }> {
  return new Promise((resolve, reject) => {
    const asked = get(url, { agent, headers: { 'accept-encoding': 'gzip' }, timeout: 30_000 }, (response) => {
      let bytes = 0;
      response.on('data', (chunk: Buffer) => (bytes += chunk.length));
      response.on('end', () => resolve({ bytes, ok: response.statusCode === 200 }));
      response.on('error', reject);
    });
    asked.on('timeout', () => asked.destroy(new Error('no answer')));
    asked.on('error', reject);
  });
}

async function read({ urls, readers, perSecond, ms }: ReadingOrder): Promise<ReadingCount> {
  const started = performance.now();
  const count: ReadingCount = { reads: 0, bytes: 0, failed: 0, times: [] };
  const one = async (turn: number) => {
    const asked = performance.now();
    const { bytes, ok } = await fetched(urls[turn % urls.length] ?? '').catch(() => ({
      bytes: 0,
      ok: false,
    }));
    count.bytes += bytes;
    count.reads += 1;
    count.times.push(performance.now() - asked);
    if (!ok) count.failed += 1;
  };
  if (perSecond !== undefined) {
    const under: Promise<void>[] = [];
    for (let turn = 0; turn < (perSecond * ms) / 1000; turn++) {
      // By the clock of the beginning: a late turn does not make the next ones late.
      await wait(started + (turn * 1000) / perSecond - performance.now());
      under.push(one(turn));
    }
    await Promise.all(under);
    return count;
  }
  await Promise.all(
    Array.from({ length: readers }, async (_, reader) => {
      for (let turn = reader; performance.now() < started + ms; turn++) await one(turn);
    }),
  );
  return count;
}

/** Asks one page again and again, one request at a time, from another process, until it is ended. */
export async function askedUntil<T>(url: string, work: Promise<T>): Promise<{ result: T; times: number[] }> {
  const child = fork(fileURLToPath(import.meta.url), ['ask', url], { stdio: 'inherit' });
  try {
    const times = new Promise<number[]>((resolve, reject) => {
      child.once('message', (told) => resolve(told as number[]));
      child.once('error', reject);
    });
    const result = await work;
    child.send('enough');
    return { result, times: await times };
  } finally {
    child.disconnect();
  }
}

const EVERY_MS = 20;
async function ask(url: string): Promise<void> {
  const times: number[] = [];
  let enough = false;
  process.once('message', () => (enough = true));
  while (!enough) {
    const asked = performance.now();
    await (await fetch(url)).arrayBuffer();
    times.push(performance.now() - asked);
    await wait(EVERY_MS);
  }
  process.send?.(times);
}

if (process.argv[2] === 'ask') void ask(process.argv[3] ?? '');
if (process.argv[2] === 'read') {
  process.once('message', (order) => {
    void read(order as ReadingOrder).then((count) => process.send?.(count));
  });
}
