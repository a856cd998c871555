import { randomUUID } from 'node:crypto';
import { mkdir } from 'node:fs/promises';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { AxeBuilder } from '@axe-core/playwright';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { SoloList, SoloView } from '@oddglass/shared/contracts/solo.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstHost, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { launchBrowser } from '../support/browser.ts';
import { foundFit, trialInput } from '../support/factories.ts';
import { signIn } from '../support/sign-in.ts';

// Alone at the kitchen table, on a phone with wet hands: every tap counted, no answer changed by anything a browser can do,
// and nothing on the device that says what stands where. Arms and answers are invented.

const root = fileURLToPath(new URL('../..', import.meta.url));
const shots = `${root}test/.artifacts/solo`;
const PHONE = { width: 390, height: 844 };
const TABLET = { width: 1180, height: 820 };
const LAPTOP = { width: 1440, height: 900 };

let server: TestServer;
let address: string;
let browser: Browser;
let host: Hosted;
let trial: TrialView;
const errors: string[] = [];

beforeAll(async () => {
  await mkdir(shots, { recursive: true });
  const { handler } = (await import(pathToFileURL(`${root}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({ webHandler: handler, clock: () => new Date() });
  address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
  browser = await launchBrowser([], true);
  host = await firstHost(server.app);
  trial = await host.caller.ok('POST', `/api/panels/${host.panel}/trials`, trialInput());
  trial = await foundFit((method, path, body) => host.caller.ok(method, path, body), trial);
});
afterAll(async () => {
  await browser?.close();
  await server?.close();
});

async function signedIn(): Promise<Page> {
  const context = await browser.newContext({ viewport: PHONE, hasTouch: true, locale: 'en-GB' });
  const page = await context.newPage();
  page.on('pageerror', (error) => errors.push(error.message));
  await signIn(page, address, 'Host');
  return page;
}

async function fits(page: Page, name: string): Promise<void> {
  await page.screenshot({ path: `${shots}/${name}.png`, fullPage: true });
  const overflow = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  expect(overflow, `${name} is wider than the screen`).toBeLessThanOrEqual(0);
}

async function look(page: Page, name: string): Promise<void> {
  await fits(page, name);
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
    .analyze();
  expect(violations.map(({ id, nodes }) => `${name}: ${id} ${nodes[0]?.html}`)).toEqual([]);
}

async function lookEverywhere(page: Page, name: string): Promise<void> {
  for (const [size, viewport] of Object.entries({ tablet: TABLET, laptop: LAPTOP })) {
    await page.setViewportSize(viewport);
    await fits(page, `${name}-${size}`);
  }
  await page.setViewportSize(PHONE);
  await look(page, `${name}-phone`);
}

/** All that the browser keeps for this address. */
const keptOnDevice = (page: Page): Promise<string> =>
  page.evaluate(async () =>
    JSON.stringify([
      { ...localStorage },
      { ...sessionStorage },
      history.state,
      (await indexedDB.databases()).map(({ name }) => name),
      (await caches?.keys?.()) ?? [],
    ]),
  );

const stored = (id: string) => host.caller.ok<SoloView>('GET', `/api/solo/${id}`);
const idOf = (page: Page): string => new URL(page.url()).pathname.split('/').at(-1) ?? '';

async function planned(page: Page, method: string): Promise<void> {
  await page.goto(`${address}/bench/trial/${trial.id}`);
  await page.getByRole('link', { name: 'Taste alone' }).tap();
  await page.getByRole('heading', { name: 'What it can tell' }).waitFor();
  await page.getByRole('radio', { name: method }).check();
}

async function sealedBy(page: Page): Promise<string> {
  await page.getByRole('button', { name: 'Seal the plan' }).tap();
  await page.waitForURL(/\/bench\/solo\/[0-9a-f-]{36}$/);
  await page.getByRole('heading', { name: 'Before you taste alone' }).waitFor();
  return idOf(page);
}

/** What stands where on the table: the hand knows, and nobody else. */
async function turn(
  page: Page,
  tray: number,
  row: string,
  tap: (what: () => Promise<void>) => Promise<void>,
) {
  await page.getByRole('heading', { name: `Now turn the slips of tray ${tray}` }).waitFor();
  for (const [at, mark] of Array.from(row).entries())
    await tap(() =>
      page
        .locator('fieldset')
        .nth(at)
        .getByRole('radio', { name: mark === 'A' ? /^A/ : /^B/ })
        .tap(),
    );
}

test('three triangles on a phone: few taps, answers that nothing changes, and no key before the last is locked', async () => {
  const phone = await signedIn();
  await planned(phone, 'Triangle test');
  await lookEverywhere(phone, 'plan');
  await phone.getByLabel('Cups of each arm you can pour').fill('6');
  const id = await sealedBy(phone);
  await lookEverywhere(phone, 'cautions');
  let taps = 0;
  const tap = async (what: () => Promise<void>): Promise<void> => {
    taps += 1;
    await what();
  };
  const press = (name: string) => tap(() => phone.getByRole('button', { name, exact: true }).tap());
  await press('I have read this and taste');
  await phone.getByRole('heading', { name: 'Pour tray 1' }).waitFor();
  await lookEverywhere(phone, 'pour');

  // Another tab is left at the question of tray 1.
  const behind = await phone.context().newPage();
  await behind.goto(phone.url());
  await behind.getByRole('button', { name: 'They stand in a row' }).tap();
  const { plan } = await stored(id);
  const codes = plan.trays.map((tray) => tray.codes.filter((code) => code !== null));
  await behind.locator(`input[value="${codes[0]![2]}"]`).tap();
  await behind.getByRole('button', { name: 'Go on', exact: true }).tap();

  await phone.bringToFront();
  for (const tray of [1, 2, 3]) {
    await phone.getByRole('heading', { name: `Pour tray ${tray}` }).waitFor();
    await press('They stand in a row');
    await tap(() => phone.locator(`input[value="${codes[tray - 1]![0]}"]`).tap());
    if (tray === 1) await lookEverywhere(phone, 'choose');
    await press('Go on');
    if (tray === 1) await look(phone, 'lock-phone');
    expect(await keptOnDevice(phone)).not.toContain(trial.arms[0]!.id);
    if (tray === 2) {
      // The network is away when it is locked: it is kept, survives a reload, and counts once.
      await phone.route('**/answers', (route) => route.abort());
      await press('Lock this answer');
      await phone.getByText('Kept on this phone until the server has it').waitFor();
      await look(phone, 'kept-phone');
      const kept = await keptOnDevice(phone);
      expect(kept).toContain(codes[1]![0]);
      for (const arm of trial.arms) expect(kept).not.toContain(arm.id);
      expect((await stored(id)).trays[1]?.answer).toBeNull();
      await phone.unroute('**/answers');
      await phone.reload();
    } else await press('Lock this answer');
    if (tray === 1) {
      await phone.getByRole('heading', { name: 'Pour tray 2' }).waitFor();
      // The tab behind locks another cup of tray 1: the first answer stands, and the tab has moved on.
      await behind.getByRole('button', { name: 'Lock this answer' }).tap();
      await behind.getByRole('heading', { name: 'Pour tray 2' }).waitFor();
      // The way back, and forth again.
      await phone.goBack();
      await phone.goForward();
      await phone.getByRole('heading', { name: 'Pour tray 2' }).waitFor();
      await phone.reload();
      expect((await stored(id)).trays[0]?.answer?.answer).toEqual({ kind: 'choice', codes: [codes[0]![0]] });
      // Nothing of the page takes a key yet.
      expect(await phone.getByText('Now turn').count()).toBe(0);
    }
  }
  await phone.getByRole('heading', { name: 'Now turn the slips of tray 1' }).waitFor();
  const device = await keptOnDevice(phone);
  for (const arm of trial.arms) expect(device).not.toContain(arm.id);
  expect((await stored(id)).trays.every(({ answer, stood }) => answer !== null && stood === null)).toBe(true);
  await lookEverywhere(phone, 'turn');
  await turn(phone, 1, 'AAAB', tap);
  await phone.getByRole('alert').filter({ hasText: 'three of A and one of B' }).waitFor();
  await look(phone, 'uneven-phone');
  await tap(() => phone.locator('fieldset').nth(2).getByRole('radio', { name: /^B/ }).tap());
  await press('Keep what stood here');
  await turn(phone, 2, 'ABBA', tap);
  await press('Keep what stood here');
  await turn(phone, 3, 'BABA', tap);
  await press('Keep what stood here');
  await phone.getByRole('heading', { name: 'Tasted alone' }).waitFor();
  console.log(`three triangles alone took ${taps} taps, cautions and keys included`);
  // Four to taste and lock a tray, five to turn it, one for the cautions, one to mend a slip.
  expect(taps).toBeLessThanOrEqual(3 * (4 + 5) + 2);
  await lookEverywhere(phone, 'over');
  await phone.getByRole('button', { name: 'Put right what stood here: tray 3' }).tap();
  await phone.getByRole('heading', { name: 'Put tray 3 right' }).waitFor();
  for (const [at, mark] of Array.from('BBAA').entries())
    await phone
      .locator('fieldset')
      .nth(at)
      .getByRole('radio', { name: mark === 'A' ? /^A/ : /^B/ })
      .tap();
  await phone.getByRole('button', { name: 'Keep what stood here' }).tap();
  await phone.getByText('was put right one time').waitFor();

  await phone.goto(`${address}/bench/trial/${trial.id}`);
  await phone.getByText('One palate: Host').waitFor();
  await look(phone, 'trial-phone');
  await phone.goto(`${address}/bench/trial/${trial.id}/story`);
  await phone.getByText('One palate each.').waitFor();
  await look(phone, 'story-phone');
  await behind.close();
  expect(errors).toEqual([]);
});

test('by lines a tray is turned before the next, and the cost is said before', async () => {
  const phone = await signedIn();
  await planned(phone, 'Two-out-of-five test');
  await phone.getByLabel('Cups of each arm you can pour').fill('9');
  await phone.getByRole('radio', { name: /Tray by tray/ }).check();
  await phone.getByText('you learn as you go').waitFor();
  await phone.getByText(/^Expect .* trays if the arms do not differ/).waitFor();
  await look(phone, 'lines-plan-phone');
  const id = await sealedBy(phone);
  await phone.getByRole('button', { name: 'I have read this and taste' }).tap();
  await look(phone, 'five-pour-phone');
  await phone.getByRole('button', { name: 'They stand in a row' }).tap();
  const codes = (await stored(id)).plan.trays[0]!.codes.filter((code) => code !== null);
  for (const code of codes.slice(0, 2)) await phone.locator(`input[value="${code}"]`).tap();
  await lookEverywhere(phone, 'five-choose');
  await phone.getByRole('button', { name: 'Go on', exact: true }).tap();
  await phone.getByRole('button', { name: 'Lock this answer' }).tap();
  await turn(phone, 1, 'AABBAB', async (what) => what());
  await look(phone, 'five-turn-phone');
  await phone.getByRole('button', { name: 'Keep what stood here' }).tap();
  await phone.getByText(/^So far [01] of 1 as they stood/).waitFor();
  await look(phone, 'pour-again-phone');
  await phone.getByRole('button', { name: 'They stand in a row' }).tap();
  // A mark was seen: the tray is left out before it is turned.
  await phone.getByRole('button', { name: 'This tray went wrong…' }).tap();
  await phone.getByRole('radio', { name: /I saw a mark/ }).check();
  await look(phone, 'left-out-phone');
  await phone.getByRole('button', { name: 'Leave it out' }).tap();
  await phone.getByRole('heading', { name: 'Pour tray 3' }).waitFor();
  await phone.getByText('Stop here').tap();
  await phone.getByRole('button', { name: 'End the series' }).tap();
  await phone.getByRole('heading', { name: 'Tasted alone' }).waitFor();
  await phone.getByText('One tray left out before anything was turned.').waitFor();
  expect(errors).toEqual([]);
});

test('marks on a line, cup by cup, by single taps', async () => {
  const phone = await signedIn();
  await planned(phone, 'Rating');
  await phone.getByLabel('Cups of each arm you can pour').fill('2');
  await look(phone, 'rating-plan-phone');
  const id = await sealedBy(phone);
  await phone.getByRole('button', { name: 'I have read this and taste' }).tap();
  for (const [tray, row] of [
    [1, 'AB'],
    [2, 'BA'],
  ] as const) {
    await phone.getByRole('heading', { name: `Pour tray ${tray}` }).waitFor();
    await phone.getByRole('button', { name: 'They stand in a row' }).tap();
    for (const [at, arm] of Array.from(row).entries()) {
      await phone.getByRole('heading', { name: /^Cup \d{3}$/ }).waitFor();
      const line = await phone.locator('.touch').first().boundingBox();
      const { x = 0, y = 0, width = 0, height = 0 } = line ?? {};
      await phone.touchscreen.tap(x + width * (arm === 'A' ? 0.25 : 0.75), y + height / 2);
      if (tray === 1 && at === 0) await lookEverywhere(phone, 'mark');
      await phone.getByRole('button', { name: at === 0 ? 'Next cup' : 'Go on', exact: true }).tap();
    }
    await phone.getByRole('heading', { name: 'All cups are marked' }).waitFor();
    await phone.getByRole('button', { name: 'Lock this answer' }).tap();
  }
  for (const [tray, row] of [
    [1, 'AB'],
    [2, 'BA'],
  ] as const) {
    await turn(phone, tray, row, async (what) => what());
    await phone.getByRole('button', { name: 'Keep what stood here' }).tap();
  }
  await phone.getByRole('heading', { name: 'Mean marks' }).waitFor();
  await lookEverywhere(phone, 'marks-over');
  const { result } = await stored(id);
  const means = result?.kind === 'rating' ? result.attributes[0]?.means.map(({ mean }) => mean ?? 0) : [];
  expect(means?.[0]).toBeLessThan(40);
  expect(means?.[1]).toBeGreaterThan(60);
  expect(errors).toEqual([]);
});

test('where one person is planned for, the plan leads here; what is not fit is not poured; too little is told', async () => {
  const phone = await signedIn();
  await phone.goto(`${address}/bench/trial/${trial.id}/session`);
  await phone.getByLabel('Assessors expected').fill('1');
  await phone.getByRole('link', { name: 'taste alone' }).waitFor();
  const empty = await host.caller.ok<TrialView>('POST', `/api/panels/${host.panel}/trials`, trialInput());
  await phone.goto(`${address}/bench/trial/${empty.id}/solo`);
  await phone.getByRole('radio', { name: 'Triangle test' }).check();
  await phone.getByLabel('Cups of each arm you can pour').fill('');
  await phone.getByRole('button', { name: 'Seal the plan' }).tap();
  await phone.getByText('At least one tray.').waitFor();
  await phone.getByLabel('Cups of each arm you can pour').fill('60');
  await phone.getByLabel('Per cup, mL').fill('200');
  await phone.getByRole('button', { name: 'Seal the plan' }).tap();
  await phone
    .getByText(/the series takes 12000 mL/)
    .first()
    .waitFor();
  await look(phone, 'too-little-phone');
  await phone.getByLabel('Per cup, mL').fill('20');
  await sealedBy(phone);
  await phone.getByText('Nothing is poured before every arm is fit to taste.').waitFor();
  expect(await phone.getByRole('button', { name: 'I have read this and taste' }).isDisabled()).toBe(true);
  await look(phone, 'unfit-phone');
  const { series } = await host.caller.ok<SoloList>('GET', `/api/trials/${empty.id}/solo`);
  expect(series.map(({ over, answered }) => [over, answered])).toEqual([[false, 0]]);
  expect((await host.caller.call('GET', `/api/solo/${randomUUID()}`)).status).toBe(404);
  expect(errors).toEqual([]);
});
