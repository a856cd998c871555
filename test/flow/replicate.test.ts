import { mkdir, writeFile } from 'node:fs/promises';
import { pathToFileURL } from 'node:url';
import AxeBuilder from '@axe-core/playwright';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstHost, moved, newTrial, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { launchBrowser } from '../support/browser.ts';
import { foundFit } from '../support/factories.ts';
import { publish, publishing } from '../support/publishing.ts';
import { signIn } from '../support/sign-in.ts';
import { playSession, playTablets } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';

// By clicks: a published package is chosen, looked at, made a trial and a draft; tasted, it stands beside the original.

const root = new URL('../../', import.meta.url).pathname;
const shots = `${root}test/.artifacts/replicate`;
const SIZES = [
  ['tablet', { width: 1180, height: 820 }],
  ['phone', { width: 390, height: 844 }],
  ['laptop', { width: 1440, height: 900 }],
] as const;

let server: TestServer;
let address: string;
let browser: Browser;
let host: Hosted;
let page: Page;
let zip: Buffer;

beforeAll(async () => {
  await mkdir(shots, { recursive: true });
  const { handler } = (await import(pathToFileURL(`${root}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({
    webHandler: handler,
    builtPages: pathToFileURL(`${root}web/build/handler.js`),
    clock: () => new Date(),
  });
  address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
  browser = await launchBrowser();
  host = await firstHost(server.app);
  const trial = await newTrial(host);
  const fit = await foundFit((...call) => host.caller.ok(...call), trial, new Date().toISOString());
  const session = await playSession(
    server,
    host,
    fit,
    { title: 'Day 20', assessors: 12, spareSeats: 0, parts: storyParts(fit) },
    palate(8, 6),
  );
  await publish(
    host,
    { trial: fit, session, receipts: [], tablets: [] },
    { address: 'original', armNames: { [fit.arms[0]!.id]: 'North', [fit.arms[1]!.id]: 'South' } },
  );
  const answer = await server.app.inject({ method: 'GET', url: '/api/p/original/package.zip' });
  zip = answer.rawPayload;
  page = await (await browser.newContext({ viewport: SIZES[2][1] })).newPage();
  await signIn(page, address, 'Host');
});
afterAll(async () => {
  await browser?.close();
  await server?.close();
});

async function look(name: string): Promise<void> {
  for (const [size, viewport] of SIZES) {
    await page.setViewportSize(viewport);
    await page.screenshot({ path: `${shots}/${name}-${size}.png`, fullPage: true });
    const wide = await page.evaluate(
      () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
    );
    expect(wide, `${name} at ${size}`).toBeLessThanOrEqual(0);
  }
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
    .analyze();
  expect(violations.map(({ id, nodes }) => `${name}: ${id} at ${nodes[0]?.html}`)).toEqual([]);
}

test('a package is chosen, looked at and made a trial with a draft; published, the two stand side by side', async () => {
  await page.goto(`${address}/bench/panel/${host.panel}`);
  await page.getByRole('link', { name: 'Replicate a trial' }).click();
  await page.getByText('Nothing is chosen yet.').waitFor();

  const file = page.getByLabel('Protocol or package');
  await expect.poll(() => file.isEnabled()).toBe(true);
  const text = unzipPackage(zip).find(({ path }) => path === 'protocol.json')!.bytes;
  const odd = { ...(JSON.parse(new TextDecoder().decode(text)) as object), question: '', factor: 7 };
  await writeFile(`${shots}/protocol.json`, JSON.stringify(odd));
  await file.setInputFiles(`${shots}/protocol.json`);
  await page.getByText('question: Fill this in.').waitFor();
  await page.getByText('factor: This is missing, or not of the form that is needed.').waitFor();
  await look('refused');

  await writeFile(`${shots}/package.zip`, zip);
  await file.setInputFiles(`${shots}/package.zip`);
  await page.getByRole('heading', { name: 'What will be made' }).waitFor();
  expect(await page.getByLabel('Question').inputValue()).toBe('Does a warmer fermentation taste different?');
  await page.getByText('sour (none to strong)').waitFor();
  await page.getByText('2 figures of what it found').waitFor();
  await look('preview');

  const make = page.getByRole('button', { name: 'Make the trial and the draft' });
  await make.click();
  // Volumes are those of drinks that only this host knows.
  await page.getByText('Some fields need another look.').waitFor();
  for (const arm of await page.getByRole('group', { name: /^Arm \d/ }).all()) {
    await arm.getByLabel('Volume left, mL').fill('9000');
  }
  await make.click();
  await page.waitForURL(/\/bench\/session\//);
  await page.getByText('Repeats “Cool against warm”').waitFor();
  await look('draft');

  const id = page.url().split('/').at(-1)!;
  const drafted = await host.caller.ok<SessionView>('GET', `/api/sessions/${id}`);
  expect(drafted.settings.replicates?.figures).toHaveLength(2);
  const trial = await host.caller.ok<TrialView>('GET', `/api/trials/${drafted.trialId}`);
  expect(trial.arms.map(({ name }) => name)).toEqual(['North', 'South']);
  await foundFit((...call) => host.caller.ok(...call), trial, new Date().toISOString());
  const open = await moved(host, drafted, 'seal', 'open');
  await playTablets(server, open, palate(6, 6), 12);
  const revealed = await moved(host, open, 'close', 'reveal');
  // Two sessions more, so that there are some to set beside each other.
  const others: SessionView[] = [];
  for (const right of [4, 11]) {
    const { replicates: _link, ...settings } = drafted.settings;
    others.push(
      await playSession(server, host, trial, { ...settings, title: `With ${right}` }, palate(right, 3)),
    );
  }
  await host.caller.ok('POST', `/api/trials/${trial.id}/publications`, {
    ...publishing(trial, [revealed, ...others], { title: 'North or south, again' }),
    address: 'again',
  });
  await page.goto(`${address}/p/again`);
  await page.getByRole('heading', { name: 'Beside the tasting it repeats' }).waitFor();
  const beside = page.getByRole('region', { name: 'Beside the tasting it repeats' });
  expect(await beside.innerText()).toContain('compatible with one and the same size');
  const forests = page.getByRole('region', { name: 'Sessions beside each other' });
  expect(await forests.innerText()).toMatch(/Q = \d/);
  expect(await forests.innerText()).toContain('mean over sessions');
  await look('published');

  await page.goto(`${address}/bench/trial/${trial.id}/story`);
  await page.getByRole('heading', { name: 'Do the sessions agree?' }).waitFor();
  await look('story');
});
