import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';

// A process that reads publications without a pause, as a crawler does: in a process of its own, so that what it costs is
// not taken for what the server does.

export interface ReadingOrder {
  urls: string[];
  readers: number;
  ms: number;
}

export interface ReadingCount {
  reads: number;
  bytes: number;
  failed: number;
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

async function read({ urls, readers, ms }: ReadingOrder): Promise<ReadingCount> {
  const until = performance.now() + ms;
  const count = { reads: 0, bytes: 0, failed: 0 };
  await Promise.all(
    Array.from({ length: readers }, async (_, reader) => {
      for (let turn = reader; performance.now() < until; turn++) {
        const response = await fetch(urls[turn % urls.length] ?? '', {
          headers: { 'accept-encoding': 'gzip' },
          signal: AbortSignal.timeout(30_000),
        }).catch(() => null);
        count.bytes += (await response?.arrayBuffer().catch(() => null))?.byteLength ?? 0;
        count.reads += 1;
        if (!response?.ok) count.failed += 1;
      }
    }),
  );
  return count;
}

if (process.argv[2] === 'read') {
  process.once('message', (order) => {
    void read(order as ReadingOrder).then((count) => process.send?.(count));
  });
}
