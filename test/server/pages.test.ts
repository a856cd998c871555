import { Pages, type PagesOptions } from '@oddglass/server/readers/pages.ts';
import { afterEach, expect, test } from 'vitest';

// The thread that makes pages for readers: what it makes, and that whoever waits is told when it ends.

const built = new URL('../support/small-pages.ts', import.meta.url);
let pages: Pages;
let told: string[];

function start(options: Partial<PagesOptions> = {}): void {
  told = [];
  pages = new Pages({
    built,
    answer: ({ url, headers }) =>
      Promise.resolve({ status: 200, headers: {}, payload: `${url} ${JSON.stringify(headers)}` }),
    log: { warn: (_details: unknown, text?: string) => void told.push(String(text)) } as PagesOptions['log'],
    ...options,
  });
}
afterEach(() => pages.close());

async function made(act: string): Promise<[number, string]> {
  const headers = { host: 'example.org', 'x-forwarded-proto': 'https' };
  const { status, body } = await pages.make({ url: `/p/${act}`, headers });
  return [status, body.toString()];
}

test('a page is made with what it was asked with, and asks the API where the database is', async () => {
  start();
  expect(await made('plain')).toEqual([200, 'for example.org by https']);
  expect(await made('asks')).toEqual([200, 'it said /api/p/asked {"host":"here"}']);
  expect(await made('nowhere')).toEqual([404, 'Nothing here']);
  expect(told).toEqual([]);
});

test('of pages made at once each gets its own answer', async () => {
  start();
  const all = await Promise.all(['plain', 'asks', 'plain', 'nowhere'].map(made));
  expect(all.map(([status]) => status)).toEqual([200, 200, 200, 404]);
  expect(all[1]?.[1]).toContain('/api/p/asked');
});

test('where the thread ends whoever waits is told, and the next page has another thread', async () => {
  start();
  await expect(made('exit')).rejects.toThrow('it ended with 3');
  expect(told).toEqual(['the thread that makes pages for readers ended']);
  expect(await made('plain')).toEqual([200, 'for example.org by https']);
});

test('a page that cannot be made is said to be so, and the thread goes on', async () => {
  start();
  await expect(made('throw')).rejects.toThrow('a page that cannot be made');
  expect(await made('plain')).toEqual([200, 'for example.org by https']);
});

test('a page without an end is given up', async () => {
  start({ workMs: 2_000 });
  await expect(made('hang')).rejects.toThrow('longer than 2 s');
  expect((await made('plain'))[0]).toBe(200);
});

test('an API that cannot answer is an answer of 500, never a page that waits', async () => {
  start({ answer: () => Promise.reject(new Error('no database')) });
  expect(await made('asks')).toEqual([200, 'it said ']);
  expect(told).toEqual(['a page for readers asked in vain']);
});

test('without readers the thread gives its memory back, and begins again with the next', async () => {
  start({ idleMs: 50 });
  expect((await made('plain'))[0]).toBe(200);
  await new Promise((resolve) => setTimeout(resolve, 200));
  expect((await made('plain'))[0]).toBe(200);
  expect(told).toEqual([]);
});

test('closing tells everybody who waits', async () => {
  start();
  const waiting = Promise.allSettled([made('hang'), made('plain')]);
  await new Promise((resolve) => setTimeout(resolve, 50));
  await pages.close();
  expect(await waiting).toMatchObject([{ status: 'rejected' }, { status: 'rejected' }]);
});
