import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, describe, expect, test } from 'vitest';
import { draft, firstHost, invited, moved, newTrial, type Hosted } from '../support/app.ts';
import { trialInput } from '../support/factories.ts';
import { expectAccessible, expectFits, GOOD_PRACTICE, SIZES } from '../support/looking.ts';
import { guests, playedEvening, type Evening } from '../support/publishing.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// From the seat to the reader in a real browser: consent, receipt, what the host decides, the article without JavaScript, the
// reader's own check, a newer version, withdrawal. Every page passes axe at three sizes and fits its width.

const ADDRESS = 'warm-or-cool';

let host: Hosted;
let trial: TrialView;
let evening: Evening;
let bench: Page;

async function contextOf(size: keyof typeof SIZES, scripts = true): Promise<BrowserContext> {
  const viewport = SIZES[size];
  return stage.browser.newContext({ viewport, locale: 'en-GB', hasTouch: true, javaScriptEnabled: scripts });
}

async function newPage(size: keyof typeof SIZES, scripts = true): Promise<Page> {
  const page = await (await contextOf(size, scripts)).newPage();
  page.on('pageerror', ({ message }) => stage.errors.push(message));
  page.on('console', (line) => {
    // A page that is not there or gone, and a receipt that is none, are asked for below.
    if (line.type() === 'error' && !/status of 4(01|04|10)/.test(line.text())) stage.errors.push(line.text());
  });
  return page;
}

/** Axe, and nothing wider than the screen. */
async function passes(page: Page, name: string): Promise<void> {
  await stage.picture(page, name);
  await expectAccessible(page, name, GOOD_PRACTICE);
  await expectFits(page, name);
}

async function passesAtAllSizes(page: Page, name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await page.setViewportSize(viewport);
    await passes(page, `${name}-${size}`);
  }
}

const stage = useStage('publication');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  const steward = await invited(host, 'steward', 'Steward');
  trial = await newTrial(host, {
    arms: trialInput().arms.map((arm) => ({ ...arm, volumeMl: 20_000 })),
  });
  const [arm] = trial.arms;
  await host.caller.ok('POST', `/api/trials/${trial.id}/arms/${arm?.id}/deviations`, {
    on: '2026-11-02',
    note: 'The lid stood open.',
  });
  const table = guests(14).map((guest, at) =>
    at === 1
      ? { ...guest, comment: 'More fruit in it.' }
      : at === 2
        ? { ...guest, comment: 'Ask me at taster@example.org' }
        : guest,
  );
  evening = await playedEvening(stage.server, { host, steward }, table, {}, trial);
  bench = await newPage('laptop');
  await signIn(bench, stage.address, 'Host');
});

describe('at the seat', () => {
  test('consent is two open boxes, asked beside the cautions and never needed', async () => {
    const session = await moved(
      host,
      await draft(host, trial, { assessors: 2, spareSeats: 0 }),
      'seal',
      'open',
    );
    const seat = await newPage('tablet');
    await seat.goto(`${stage.address}/seat#${session.join?.token}`);
    await seat.getByRole('button', { name: /^Take seat/ }).click();
    const boxes = seat.getByRole('group', { name: 'What may be published' }).getByRole('checkbox');
    await boxes.first().waitFor();
    expect(await boxes.count()).toBe(2);
    for (const box of await boxes.all()) expect(await box.isChecked()).toBe(false);
    await passesAtAllSizes(seat, 'cautions');
    await seat.setViewportSize(SIZES.tablet);
    await boxes.first().check();
    const told = seat.waitForResponse((answer) => answer.url().endsWith('/api/seat/consent'));
    await seat.getByRole('button', { name: 'I have read this and take part' }).click();
    expect((await told).status()).toBe(200);
    await seat.getByRole('heading', { name: /^Taste/ }).waitFor();

    const quiet = await newPage('phone');
    const asked: string[] = [];
    quiet.on('request', (request) => asked.push(request.url()));
    await quiet.goto(`${stage.address}/seat#${session.join?.token}`);
    await quiet.getByRole('button', { name: /^Take seat/ }).click();
    await quiet.getByRole('button', { name: 'I have read this and take part' }).click();
    await quiet.getByRole('heading', { name: /^Taste/ }).waitFor();
    expect(asked.filter((url) => url.endsWith('/consent'))).toEqual([]);
    await seat.context().close();
    await quiet.context().close();
  });

  test('the thanks hold a receipt, and the receipt shows what was said', async () => {
    const seat = await newPage('tablet');
    const [tablet] = evening.tablets;
    // The tablet made its receipt when it was in other hands of this test, and keeps it beside the seat.
    const kept = `${tablet?.seatToken} ${evening.receipts[0]?.seatToken}`;
    await seat.addInitScript((value) => localStorage.setItem('oddglass.receipt', value), kept);
    await seat.goto(`${stage.address}/seat#seat.${tablet?.seatToken}`);
    await seat.getByRole('heading', { name: /^That was your last tray/ }).waitFor();
    const link = await seat.getByRole('textbox', { name: 'Private link to your answers' }).inputValue();
    expect(link).toMatch(/\/receipt#[A-Za-z0-9_-]{22}\.[0-9a-f]{64}$/);
    await passesAtAllSizes(seat, 'thanks');
    await seat.context().close();

    const own = await newPage('phone');
    await own.goto(link);
    await own.getByRole('heading', { name: /your answers$/ }).waitFor();
    expect(await own.locator('main').innerText()).toContain('fairly sure');
    await passesAtAllSizes(own, 'receipt');
    await own.goto(`${stage.address}/receipt#AAAAAAAAAAAAAAAAAAAAAAAAAAAA`);
    await own.getByRole('heading', { name: 'We don’t recognise this receipt' }).waitFor();
    await own.context().close();
  });
});

describe('on the bench', () => {
  test('a host sees what readers will see, is told what is missing, and publishes', async () => {
    await bench.goto(`${stage.address}/bench/trial/${trial.id}`);
    await bench.getByRole('link', { name: 'Publish' }).click();
    await bench.getByRole('heading', { name: 'A new publication' }).waitFor();
    await bench.getByText('Say of each deviation what it means').waitFor();
    await bench.getByLabel('Title').fill('Does warmth show?');
    await bench.getByLabel('Public name of Warmvessel').fill('Warm');
    // The line with an address in it says why it should stay.
    await bench.getByText('This looks like a mail address').waitFor();
    await bench.getByRole('checkbox', { name: 'More fruit in it.' }).check();
    await bench.getByRole('button', { name: 'Publish', exact: true }).click();
    await bench.getByText('Say of each deviation what it means').first().waitFor();
    const answer = bench.getByLabel(/The lid stood open/);
    expect(await answer.getAttribute('aria-invalid')).toBe('true');
    await answer.fill('For an hour; air may be part of it.');
    await bench.getByLabel('Chosen address').fill('Bad Address!');
    await bench.getByRole('checkbox', { name: /^Show it in the public list/ }).check();
    const frame = bench.locator('.frame');
    await frame.getByText('For an hour; air may be part of it.').waitFor();
    await frame.getByText('More fruit in it.').waitFor();
    await passesAtAllSizes(bench, 'publish');
    await bench.setViewportSize(SIZES.laptop);
    await bench.getByRole('button', { name: 'Publish', exact: true }).click();
    const dialog = bench.getByRole('dialog');
    await dialog.getByText('This version is final').waitFor();
    await dialog.getByRole('button', { name: 'Publish', exact: true }).click();
    await bench.getByText('Use 3 to 60 small letters').waitFor();
    await bench.getByLabel('Chosen address').fill(ADDRESS);
    await bench.getByRole('button', { name: 'Publish', exact: true }).click();
    await dialog.getByRole('button', { name: 'Publish', exact: true }).click();
    await bench.getByRole('heading', { name: 'Published: version 1 of “Does warmth show?”' }).waitFor();
    expect(await bench.getByRole('textbox', { name: 'Address for readers' }).inputValue()).toBe(
      `${stage.address}/p/${ADDRESS}`,
    );
    await passesAtAllSizes(bench, 'published');
  });
});

describe('for readers', () => {
  test('the article is whole without JavaScript, and says what machines want to know', async () => {
    const page = await newPage('phone', false);
    const answer = await page.goto(`${stage.address}/p/${ADDRESS}`);
    expect(answer?.status()).toBe(200);
    const html = (await answer?.text()) ?? '';
    const words = await page.locator('main').innerText();
    for (const part of [
      'Does warmth show?',
      'found the odd one',
      'Caveats from the trial record',
      'For an hour; air may be part of it.',
      'More fruit in it.',
      'What was done',
      'double-blind',
      '14 assessors',
      'What was done so that nobody is found',
      'Creative Commons Attribution 4.0 International',
      'Version 1',
    ]) {
      expect(words).toContain(part);
    }
    expect(words).not.toContain('taster@example.org');
    expect(await page.locator('main svg[role=img]').count()).toBeGreaterThan(0);
    // No script but the block of data.
    expect([...html.matchAll(/<script\b[^>]*>/g)].map(([tag]) => tag)).toEqual([
      '<script type="application/ld+json">',
    ]);
    const [, data = ''] = /<script type="application\/ld\+json">([^<]*)<\/script>/.exec(html) ?? [];
    expect(JSON.parse(data)).toMatchObject({
      '@type': 'Dataset',
      url: `${stage.address}/p/${ADDRESS}`,
      license: 'https://creativecommons.org/licenses/by/4.0/',
    });
    expect(html).toContain('property="og:title" content="Does warmth show?"');
    for (const link of await page.locator('a[download]').all()) {
      const file = await page.request.get(
        new URL((await link.getAttribute('href')) ?? '', stage.address).href,
      );
      expect(file.status()).toBe(200);
    }
    await page.context().close();

    const open = await newPage('laptop');
    await open.goto(`${stage.address}/p/${ADDRESS}`);
    await passesAtAllSizes(open, 'article');
    const picture = await open.locator('meta[property="og:image"]').getAttribute('content');
    const size = await open.evaluate(async (source) => {
      const image = new Image();
      image.src = source ?? '';
      await image.decode();
      return [image.naturalWidth, image.naturalHeight];
    }, picture);
    expect(size).toEqual([1200, 630]);
    // On paper the article stands without the folds of its numbers (test/flow/printed.test.ts).
    await open.emulateMedia({ media: 'print' });
    for (const format of ['A4', 'Letter']) {
      const pdf = await open.pdf({ format, path: `${stage.shots}/article-${format}.pdf` });
      expect(pdf.length).toBeGreaterThan(20_000);
    }
    await open.context().close();
  });

  test('a reader’s browser checks it, and sees a change of one number', async () => {
    const page = await newPage('laptop');
    await page.goto(`${stage.address}/p/${ADDRESS}/verify`);
    await page.locator('[data-verdict=agrees]').waitFor();
    expect(await page.locator('[data-verdict]').innerText()).toMatch(/^All \d+ checks agree\.$/);
    await passesAtAllSizes(page, 'verify');
    const fetched = await page.request.get(`${stage.address}/api/p/${ADDRESS}/package.zip`);
    await page
      .getByLabel('Data package (ZIP)')
      .setInputFiles({ name: 'package.zip', mimeType: 'application/zip', buffer: await fetched.body() });
    await page.getByText('package.zip', { exact: true }).waitFor();
    expect(await page.locator('[data-verdict=agrees]').count()).toBe(2);
    await page.route('**/result.json*', async (route) => {
      const answer = await route.fetch();
      const changed = (await answer.json()) as Publication;
      const [part] = changed.sessions[0]?.parts ?? [];
      if (part && 'test' in part && part.test && 'counted' in part.test)
        part.test.counted = 1 + (part.test.counted ?? 0);
      await route.fulfill({ response: answer, body: JSON.stringify(changed) });
    });
    await page.reload();
    await page.locator('[data-verdict=differs]').waitFor();
    await passesAtAllSizes(page, 'verify-differs');
    await page.context().close();

    const still = await newPage('phone', false);
    await still.goto(`${stage.address}/p/${ADDRESS}/verify`);
    expect(await still.locator('noscript').count()).toBe(1);
    expect(await still.locator('main').innerText()).toContain('npm run verify -- package.zip');
    await still.context().close();
  });

  test('an unknown address is calm, and the public list leads to the article', async () => {
    const page = await newPage('laptop');
    expect((await page.goto(`${stage.address}/p/never-heard-of`))?.status()).toBe(404);
    await page.getByRole('heading', { name: 'Nothing is published here' }).waitFor();
    await passesAtAllSizes(page, 'unknown');
    await page.goto(`${stage.address}/p/list/${trial.panelId}`);
    await passesAtAllSizes(page, 'list');
    const feed = await page.getByRole('link', { name: 'Atom feed' }).getAttribute('href');
    expect(await (await page.request.get(stage.address + feed)).text()).toContain('<feed');
    await page.getByRole('link', { name: 'Does warmth show?' }).click();
    await page.waitForURL(`${stage.address}/p/${ADDRESS}`);
    await page.context().close();
  });
});

test('three withdraw by their receipts, a newer version says so, and a withdrawal leaves a tombstone', async () => {
  const page = await newPage('phone');
  for (const receipt of evening.receipts.slice(3, 6)) {
    await page.goto('about:blank');
    await page.goto(`${stage.address}/receipt#${receipt.seatToken}`);
    await page.getByRole('button', { name: 'Withdraw my answers' }).click();
    await page.getByRole('dialog').getByText('What it cannot do').waitFor();
    await page.getByRole('dialog').getByRole('button', { name: 'Withdraw them' }).click();
    await page.getByText('You withdrew your answers.').waitFor();
  }
  await passesAtAllSizes(page, 'receipt-withdrawn');

  await bench.setViewportSize(SIZES.laptop);
  await bench.goto(`${stage.address}/bench/trial/${trial.id}/publish`);
  await bench.getByRole('button', { name: /^New version/ }).click();
  await bench.getByRole('heading', { name: /^A new version of/ }).waitFor();
  const next = bench.getByRole('button', { name: 'Publish the new version' });
  // What was chosen before is there again.
  await bench.locator('.frame').getByText('For an hour; air may be part of it.').waitFor();
  await next.click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Publish the new version' }).click();
  await bench.getByRole('heading', { name: /^Published: version 2/ }).waitFor();

  await page.goto(`${stage.address}/p/${ADDRESS}`);
  expect(await page.locator('#panel').innerText()).toContain('Three assessors withdrew');
  await page.getByRole('link', { name: 'Version 1' }).click();
  await page.getByText('There is a newer version than this one').waitFor();

  await bench.getByRole('button', { name: /^Withdraw/ }).click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Withdraw it' }).click();
  await bench.getByText(/, withdrawn/).waitFor();
  for (const query of ['', '?version=1']) {
    expect((await page.goto(`${stage.address}/p/${ADDRESS}${query}`))?.status()).toBe(410);
    await page.getByRole('heading', { name: 'This publication was withdrawn' }).waitFor();
    expect(await page.locator('main').innerText()).not.toContain('warmth');
  }
  await passesAtAllSizes(page, 'tombstone');
  await page.context().close();
});

test('no page said an error', () => {
  expect(stage.errors).toEqual([]);
});
