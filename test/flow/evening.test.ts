import { readFileSync } from 'node:fs';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import { choiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { draft, firstHost, invited, newTrial, type Hosted } from '../support/app.ts';
import { PLAIN_HTTP_NAME } from '../support/browser.ts';
import { oddCodes, PASSPHRASE } from '../support/factories.ts';
import { expectAccessible, WCAG } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// An evening in a real browser: the host seals, the steward ticks, twelve assessors on twelve devices join by code and
// answer (one reloads in the middle, one loses the network and gets it back), the board counts live, the key opens.

const ASSESSORS = 12;
const RIGHT = 9;
const TABLET = { width: 1180, height: 820 };
const root = new URL('../../', import.meta.url).pathname;

let host: Hosted;
let steward: Hosted;

const stage = useStage('evening');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  steward = await invited(host, 'steward', 'Steward');
});

async function device(viewport = TABLET): Promise<{ context: BrowserContext; page: Page }> {
  const context = await stage.browser.newContext({ viewport, hasTouch: true });
  const page = await context.newPage();
  page.on('pageerror', (error) => stage.errors.push(error.message));
  return { context, page };
}

async function signedIn(name: string, viewport = { width: 1440, height: 900 }): Promise<Page> {
  const { page } = await device(viewport);
  await page.goto(`${stage.address}/bench/sign-in`);
  await page.getByLabel('Name').fill(name);
  await page.getByLabel('Passphrase', { exact: true }).fill(PASSPHRASE);
  // Before the page runs, Enter is nobody's.
  await expect
    .poll(() => page.getByRole('button', { name: 'Sign in' }).isEnabled(), { timeout: 30_000 })
    .toBe(true);
  await page.keyboard.press('Enter');
  await page.waitForURL(/\/bench$/);
  return page;
}

async function look(page: Page, name: string): Promise<void> {
  await stage.picture(page, name, false);
  await expectAccessible(page, name, WCAG);
}

/** From the door to the first cup: the code is typed, the suggested seat or a chosen one is taken, cautions are confirmed. */
async function sitDown(page: Page, code: string, seat: number): Promise<void> {
  await page.goto(`${stage.address}/seat`);
  await page.getByLabel('Code of the tasting').fill(code.toLowerCase());
  await page.getByRole('button', { name: 'Show the free seats' }).click();
  await page.getByRole('radio', { name: String(seat), exact: true }).check({ force: true });
  await page.getByRole('button', { name: `Take seat ${seat}`, exact: true }).click();
  await page.getByRole('button', { name: 'I have read this and take part' }).click();
  await page.getByRole('heading', { name: /^Taste \d{3}$/ }).waitFor();
}

async function tasteAll(page: Page): Promise<void> {
  for (let cup = 1; cup <= 3; cup++) await page.getByRole('button', { name: /^Tasted\./ }).click();
  await page.getByRole('heading', { name: /Which one is different/ }).waitFor();
}

async function choose(page: Page, code: string, confidence: string): Promise<void> {
  await page.getByRole('radio', { name: new RegExp(`^${code}`) }).check({ force: true });
  await page.getByRole('radio', { name: confidence }).check({ force: true });
  await page.getByRole('button', { name: 'Next: what told it apart' }).click();
  await page.getByRole('searchbox', { name: 'Search the words' }).fill('pear drops');
  await page.getByRole('checkbox', { name: /^banana/ }).check({ force: true });
  await page.getByRole('button', { name: 'Next: review' }).click();
}

const send = (page: Page) => page.getByRole('button', { name: 'Send', exact: true }).click();
const thanked = (page: Page) => page.getByRole('heading', { name: /That was your last tray/ }).waitFor();

test('a blind triangle evening from seal to result', async () => {
  const trial = await newTrial(host);
  const planned = await draft(host, trial, { assessors: ASSESSORS, spareSeats: 2 });

  // The host seals.
  const bench = await signedIn('Host');
  await bench.goto(`${stage.address}/bench/session/${planned.id}`);
  await look(bench, 'draft');
  await bench.getByRole('button', { name: 'Seal the plan' }).click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Seal the plan' }).click();
  await bench.getByRole('heading', { name: 'The seal' }).waitFor();
  await look(bench, 'sealed');
  const fingerprint = (await bench.locator('body').innerText()).match(
    /[0-9A-F]{4}·[0-9A-F]{4}·[0-9A-F]{4}/,
  )?.[0];
  expect(fingerprint).toBeTruthy();

  // The steward ticks, on a device of their own.
  const cellar = await signedIn('Steward', TABLET);
  await cellar.goto(`${stage.address}/bench/session/${planned.id}/pour`);
  await expect.poll(() => cellar.locator('body').innerText()).toContain(fingerprint);
  const cups = cellar.getByRole('checkbox');
  for (let cup = 0; cup < 6; cup++) await cups.nth(cup).check({ force: true });
  const pourList = () => steward.caller.ok<PourView>('GET', `/api/sessions/${planned.id}/pour`);
  const ticked = async () =>
    (await pourList()).samples.flatMap(({ cups: all }) => all.filter(({ poured }) => poured)).length;
  await expect.poll(ticked, { timeout: 10_000 }).toBe(6);
  await cellar.reload();
  await expect.poll(() => cellar.getByRole('checkbox', { checked: true }).count()).toBe(6);
  await look(cellar, 'pour');
  // The host hears of trays when no tray stands half poured: cup by cup it would tell what is on one.
  expect(await bench.locator('body').innerText()).toMatch(/0 of 36/);
  const pouring = await pourList();
  await steward.caller.ok('POST', `/api/sessions/${planned.id}/pour/ticks`, {
    servingIds: pouring.samples.flatMap(({ cups: all }) =>
      all.filter(({ spare }) => !spare).map(({ servingId }) => servingId),
    ),
    poured: true,
  });
  await expect.poll(() => bench.locator('body').innerText(), { timeout: 10_000 }).toMatch(/36 of 36/);

  // Open: the board shows the code.
  await bench.getByRole('button', { name: 'Open tasting' }).click();
  await bench.getByRole('button', { name: 'Close tasting…' }).waitFor();
  const code = (await bench.locator('body').innerText()).match(/[A-Z0-9]{4}·[A-Z0-9]{4}(?!·)/)?.[0] ?? '';
  const odd = oddCodes(await steward.caller.ok<PourView>('GET', `/api/sessions/${planned.id}/pour`));

  // Twelve assessors on twelve devices.
  const tablets = await Promise.all(Array.from({ length: ASSESSORS }, () => device()));
  const board = () => bench.locator('body').innerText();
  for (const [index, { page, context }] of tablets.entries()) {
    const seat = index + 1;
    await sitDown(page, code, seat);
    if (index === 0) await look(page, 'seat-taste');
    await tasteAll(page);
    const right = odd.get(`${seat}/1`) ?? '';
    const codes = (await page.locator('body').innerText()).match(/\b\d{3}\b/g) ?? [];
    const choice = index < RIGHT ? right : (codes.find((other) => other !== right) ?? '');
    const confidence = index % 3 === 0 ? 'I guessed' : index % 3 === 1 ? 'Certain' : 'Fairly sure';
    if (index === 3) {
      // A reload in the middle goes on where it was.
      await page.getByRole('radio', { name: new RegExp(`^${choice}`) }).check({ force: true });
      await page.reload();
      await page.getByRole('heading', { name: /Which one is different/ }).waitFor();
      expect(await page.getByRole('radio', { name: new RegExp(`^${choice}`) }).isChecked()).toBe(true);
    }
    await choose(page, choice, confidence);
    if (index === 0) {
      await page.getByRole('radio', { name: 'swallowed', exact: true }).check();
      await look(page, 'seat-review');
    }
    if (index === 5) {
      await context.setOffline(true);
      await send(page);
      await expect.poll(() => page.locator('body').innerText()).toMatch(/kept on this tablet/i);
      expect(await board()).not.toMatch(/12 of 12/);
      await look(page, 'seat-offline');
      await context.setOffline(false);
    } else {
      await send(page);
    }
    await thanked(page);
    await expect.poll(board, { timeout: 15_000 }).toMatch(new RegExp(`answers in\\s+${seat} of ${seat}\\b`));
  }
  await look(bench, 'board');
  await look(tablets[0]!.page, 'seat-finished');

  // Close and reveal.
  await bench.getByRole('button', { name: 'Close tasting…' }).click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Close tasting' }).click();
  await bench.getByRole('button', { name: 'Reveal…' }).click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Reveal' }).click();
  await bench
    .getByRole('link', { name: /result/i })
    .first()
    .waitFor();

  // The result equals the published critical value and the exact p.
  const reference = JSON.parse(readFileSync(`${root}test/reference/reference-values.json`, 'utf8')) as {
    id: string;
    input: { correct: number; n: number; test: string }[];
    expected: number[];
  }[];
  const published = reference.find(({ id }) => id === 'pvalue-one-sided')!;
  const place = published.input.findIndex(
    (one) => one.test === 'triangle' && one.correct === RIGHT && one.n === ASSESSORS,
  );
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${planned.id}/result`);
  const told = choiceResult.parse(result.parts[0]);
  expect(told.test.counted).toBe(RIGHT);
  expect(told.test.p).toBeCloseTo(published.expected[place]!, 12);
  // ISO 4120: 8 right answers are significant with 12 assessors at alpha 0.05.
  expect(told.test.critical).toBe(8);
  await bench.goto(`${stage.address}/bench/session/${planned.id}/result`);
  await expect.poll(() => bench.locator('body').innerText()).toContain('Nine of twelve found the odd one.');
  expect(await bench.locator('body').innerText()).toMatch(/0\.004[\s\S]*8 of 12/);
  // Half turned, a name has half its contrast.
  await bench.getByRole('button', { name: 'Skip' }).click();
  await look(bench, 'result');
  await bench.goto(`${stage.address}/bench/session/${planned.id}/seal`);
  await expect.poll(() => bench.locator('body').innerText()).toMatch(/It matches/);
  await look(bench, 'seal');

  // Without scripts the result is there as well.
  const plain = await stage.browser.newContext({ javaScriptEnabled: false });
  await plain.addCookies(await bench.context().cookies());
  const article = await plain.newPage();
  await article.goto(`${stage.address}/bench/session/${planned.id}/result`);
  expect(await article.locator('body').innerText()).toContain('Nine of twelve found the odd one.');
  expect(await article.locator('svg circle').count()).toBeGreaterThanOrEqual(ASSESSORS);
  await plain.close();

  expect(stage.errors).toEqual([]);
  for (const { context } of tablets) await context.close();
});

test('an assessor gets through an evening by keyboard alone, in masking light, over plain http', async () => {
  const trial = await newTrial(host);
  const planned = await draft(host, trial, { assessors: 1, spareSeats: 0, masking: true });
  await host.caller.ok('POST', `/api/sessions/${planned.id}/seal`, {});
  const { join } = await host.caller.ok<{ join: { token: string } }>(
    'POST',
    `/api/sessions/${planned.id}/open`,
    {},
  );
  const { page, context } = await device({ width: 390, height: 844 });
  // Not a secure context: no WebCrypto, no randomUUID, no service worker. Everything the evening needs works all the same.
  await page.goto(`${stage.address.replace('localhost', PLAIN_HTTP_NAME)}/seat#${join.token}`);
  await page.getByRole('heading', { name: 'Where do you sit?' }).waitFor();
  expect(await page.evaluate(() => isSecureContext)).toBe(false);
  expect(page.url()).not.toContain(join.token);
  const press = async (name: RegExp): Promise<void> => {
    for (let tab = 0; tab < 60; tab++) {
      const focused = await page.evaluate(
        () => document.activeElement?.closest('button, label, input')?.textContent ?? '',
      );
      if (name.test(focused.trim())) return page.keyboard.press('Enter');
      await page.keyboard.press('Tab');
    }
    throw new Error(`${name} is not reached by the tab key`);
  };
  await press(/^Take seat 1/);
  await page.getByRole('heading', { name: 'Before you taste' }).waitFor();
  await look(page, 'cautions-phone');
  await press(/^I have read this/);
  for (const step of [/^Tasted/, /^Tasted/, /^Tasted/]) {
    await page.getByRole('heading', { name: /^Taste \d{3}$/ }).waitFor();
    await press(step);
    await page.waitForTimeout(100);
  }
  await page.getByRole('heading', { name: /Which one is different/ }).waitFor();
  await page.locator('.cups input').first().focus();
  await page.keyboard.press('Space');
  await page.keyboard.press('Tab');
  await page.keyboard.press('Space');
  await look(page, 'choose-phone-masking');
  expect(await page.locator('html').getAttribute('data-light')).toBe('masking');
  await press(/^Next: what told it apart/);
  await press(/^Next: review/);
  await page.getByRole('radiogroup', { name: 'On this tray I' }).waitFor();
  await look(page, 'review-phone-masking');
  await press(/^Send$/);
  await thanked(page);
  await context.close();
});
