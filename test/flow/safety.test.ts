import { mkdir } from 'node:fs/promises';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { AxeBuilder } from '@axe-core/playwright';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  draft,
  firstHost,
  invited,
  moved,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { launchBrowser } from '../support/browser.ts';
import { trialInput } from '../support/factories.ts';
import { signIn } from '../support/sign-in.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const shots = `${root}test/.artifacts/safety`;
const LAPTOP = { width: 1440, height: 900 };
const PHONE = { width: 390, height: 844 };

let server: TestServer;
let address: string;
let browser: Browser;
let host: Hosted;
const errors: string[] = [];

beforeAll(async () => {
  await mkdir(shots, { recursive: true });
  const { handler } = (await import(pathToFileURL(`${root}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({ webHandler: handler, clock: () => new Date() });
  address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
  browser = await launchBrowser();
  host = await firstHost(server.app);
  await invited(host, 'steward', 'Steward');
});
afterAll(async () => {
  await browser?.close();
  await server?.close();
});

async function device(viewport: { width: number; height: number }): Promise<Page> {
  const page = await (await browser.newContext({ viewport, hasTouch: true })).newPage();
  page.on('pageerror', (error) => errors.push(error.message));
  return page;
}

async function signedIn(name: string, viewport = LAPTOP): Promise<Page> {
  const page = await device(viewport);
  await signIn(page, address, name);
  return page;
}

async function look(page: Page, name: string): Promise<void> {
  await page.screenshot({ path: `${shots}/${name}.png`, fullPage: true });
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
    .analyze();
  expect(violations.map(({ id, nodes }) => `${name}: ${id} ${nodes[0]?.html}`)).toEqual([]);
  const overflow = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  expect(overflow, `${name} is wider than the screen`).toBeLessThanOrEqual(0);
}

const answer = (page: Page, question: string, told: 'yes' | 'no' | 'not known') =>
  page.getByRole('radiogroup', { name: question }).getByRole('radio', { name: told, exact: true }).check();
const MOULD = 'Mould, or a growth nobody can name';

test('beer without alcohol is opened only after somebody has looked, to smell only, and stops at mould', async () => {
  const { arms } = trialInput();
  const trial = await host.caller.ok<TrialView>('POST', `/api/panels/${host.panel}/trials`, {
    ...trialInput(),
    arms: arms.map((arm) => ({ ...arm, abv: 0.4 })),
  });
  const session = await moved(host, await draft(host, trial, { assessors: 2, spareSeats: 0 }), 'seal');

  const bench = await signedIn('Host');
  await bench.goto(`${address}/bench/session/${session.id}`);
  const open = bench.getByRole('button', { name: /^Open/ });
  await open.click();
  await bench.getByText('Coolvessel: Nobody has looked').waitFor();
  await look(bench, 'nobody-looked');

  // What it comes to is said while it is filled in.
  await bench.getByRole('button', { name: 'Note what it is like today: Coolvessel' }).click();
  const form = bench.getByRole('form', { name: 'What Coolvessel is like today' });
  await answer(bench, MOULD, 'yes');
  await form.getByText('throw it out').waitFor();
  await answer(bench, MOULD, 'no');
  await answer(bench, 'Stood closed and unchilled for more than a day before it was pitched', 'no');
  await answer(bench, 'Gravity still falling', 'no');
  await answer(bench, 'Made with hops', 'no');
  await form.getByLabel('pH', { exact: true }).fill('4,3');
  await form.getByText('measure it within the week').waitFor();
  await form
    .getByLabel('Meter calibrated on')
    .fill(await bench.evaluate(() => new Date().toLocaleDateString('sv-SE')));
  await form.getByText('Smell only: do not taste').waitFor();
  await form.getByLabel(/I looked at the other arms too/).check();
  await look(bench, 'form');
  await bench.setViewportSize(PHONE);
  await look(bench, 'form-phone');
  await bench.setViewportSize(LAPTOP);
  await form.getByRole('button', { name: 'Note it' }).click();
  await bench.getByRole('button', { name: 'Open, to smell only' }).waitFor();
  await look(bench, 'smell-only');
  await open.click();
  await bench.getByRole('button', { name: 'Close tasting…' }).waitFor();

  const code = (await bench.locator('body').innerText()).match(/[A-Z0-9]{4}·[A-Z0-9]{4}(?!·)/)?.[0] ?? '';
  const tablet = await device({ width: 1180, height: 820 });
  await tablet.goto(`${address}/seat`);
  await tablet.getByLabel('Code of the tasting').fill(code);
  await tablet.getByRole('button', { name: 'Show the free seats' }).click();
  await tablet.getByRole('button', { name: /^Take seat/ }).click();
  await tablet.getByText('Smell only.').waitFor();
  await look(tablet, 'seat-smell-only');
  await tablet.getByRole('button', { name: 'I have read this and take part' }).click();
  await tablet.getByRole('heading', { name: /\d{3}$/ }).waitFor();

  // The steward finds mould in a bottle.
  const cellar = await signedIn('Steward', PHONE);
  await cellar.goto(`${address}/bench/session/${session.id}/pour`);
  await cellar.getByText('Before you open a bottle').click();
  await look(cellar, 'pour-phone');
  await cellar.getByRole('link', { name: 'Note what Warmvessel is like today' }).click();
  await cellar.getByRole('button', { name: 'What it is like today: Warmvessel' }).click();
  await answer(cellar, MOULD, 'yes');
  await look(cellar, 'mould-phone');
  await cellar.getByRole('button', { name: 'Note it' }).click();

  await tablet.getByText('Stop: do not taste any more.').waitFor();
  await look(tablet, 'seat-stopped');
  await bench.getByText('The tasting is stopped.').waitFor();
  await look(bench, 'board-stopped');
  expect(errors).toEqual([]);
});
