import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Locator, Page, ViewportSize } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, moved, newTrial, type Hosted } from '../support/app.ts';
import { expectAccessible, expectFits, onScreens, SIZES, WCAG } from '../support/looking.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// A host is offered a late question and takes it; two people answer it on phones, one by taps and one by keys alone, with a
// reload in the wait and one in the answer; the result tells what was there late beside what was said at first.

const { laptop: LAPTOP, tablet: TABLET, phone: PHONE } = SIZES;
const SETTLED_MS = 450;
let host: Hosted;

const stage = useStage('late-question');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
});

const newPage = (viewport: ViewportSize = LAPTOP): Promise<Page> =>
  stage.newPage(viewport, { hasTouch: true, reducedMotion: 'reduce' });

/** In every width: nothing reaches beyond the page, and axe finds nothing. */
const look = (
  page: Page,
  name: string,
  sizes: readonly ViewportSize[] = [LAPTOP, TABLET, PHONE],
): Promise<void> =>
  onScreens(page, sizes, async (width) => {
    await stage.picture(page, `${name}-${width}`);
    await expectFits(page, `${name} at ${width}`);
    await expectAccessible(page, name, WCAG);
  });

const says = (where: Locator, words: RegExp) =>
  expect.poll(() => where.innerText(), { timeout: 20_000 }).toMatch(words);
const heading = (page: Page): Locator => page.locator('main h1').first();

async function plan(trialId: string): Promise<string> {
  const bench = await newPage();
  await signIn(bench, stage.address, 'Host');
  await bench.goto(`${stage.address}/bench/trial/${trialId}/session`);
  await bench.getByRole('button', { name: 'Description', exact: true }).click();
  await bench.getByLabel('Title').fill('What stays');
  await bench.getByLabel('Assessors expected').fill('2');
  await bench.getByLabel('Spare seats').fill('0');
  const main = bench.locator('main');
  // Proposed for words of the list, and not asked by itself.
  await says(main, /Of these words .*bitter.* linger or come late/s);
  const late = bench.getByLabel('Ask once more of every cup, after a wait, which of them are there');
  expect(await late.isChecked()).toBe(false);
  await late.check();
  await says(main, /Lasts longer with every sip\..*Journal of the ASBC 44:28/s);
  await bench.getByRole('checkbox', { name: /^warming/ }).uncheck();
  await bench.getByLabel('Wait, seconds').fill('10');
  await says(main, /At least 30 seconds/);
  await bench.getByLabel('Wait, seconds').fill('60');
  await bench.getByLabel('bitter or astringent').check();
  const told = bench.getByRole('region', { name: 'What this plan can tell' });
  await says(told, /Waiting for late questions takes each assessor 2 minutes in all/);
  await says(told, /For bitter drinks the bounds are 6 cups a flight and 9 an evening/);
  await look(bench, 'plan');
  await bench.getByRole('button', { name: 'Keep as a draft' }).click();
  await bench.waitForURL(/\/bench\/session\//);
  return /session\/([0-9a-f-]+)/.exec(bench.url())?.[1] ?? '';
}

async function sitDown(page: Page, session: SessionView, seat: number): Promise<void> {
  // Time is the page's own, so that a minute need not be waited.
  await page.clock.install();
  await page.goto(`${stage.address}/seat#${session.join?.token}`);
  await page.getByRole('radio', { name: String(seat), exact: true }).check({ force: true });
  await page.getByRole('button', { name: `Take seat ${seat}`, exact: true }).click();
  await page.getByRole('button', { name: 'I have read this and take part' }).click();
  await says(heading(page), /^Taste \d{3}/);
}

const settled = (page: Page) => page.waitForTimeout(SETTLED_MS);

/** Says no word at first, by taps. */
async function describeByTouch(page: Page): Promise<void> {
  await says(page.locator('main'), /Then wait 60 seconds without tasting: one short question more follows/);
  await settled(page);
  await page.getByRole('checkbox', { name: 'None of these' }).tap({ force: true });
  await page.locator('main .act button.do').tap();
}

const secondsLeft = async (page: Page): Promise<number> => {
  const name = (await page.getByRole('timer').getAttribute('aria-label')) ?? '';
  const minute = /1 minute/.test(name) ? 60 : 0;
  return minute + Number(/(\d+) seconds?/.exec(name)?.[1] ?? 0);
};

/** Tabs to what has this name, and presses a key on it. */
async function press(page: Page, name: RegExp, key: 'Space' | 'Enter'): Promise<void> {
  for (let tab = 0; tab < 120; tab++) {
    await page.keyboard.press('Tab');
    const focused = await page.evaluate(() => {
      const element = document.activeElement;
      return (element instanceof HTMLInputElement ? element.labels?.[0] : element)?.textContent?.trim() ?? '';
    });
    if (name.test(focused)) return page.keyboard.press(key);
  }
  throw new Error(`the keyboard does not reach ${name}`);
}

async function byTouch(session: SessionView): Promise<Page> {
  const page = await newPage(PHONE);
  await sitDown(page, session, 1);
  for (const cup of [1, 2]) {
    await says(page.locator('main .where'), new RegExp(`Cup ${cup} of 2`));
    await describeByTouch(page);
    await says(heading(page), /^Wait for the aftertaste of \d{3}/);
    expect(await secondsLeft(page)).toBeGreaterThan(50);
    // There is nothing to press, and no way on, before the time is over.
    expect(await page.locator('main button').count()).toBe(0);
    if (cup === 1) {
      await page.clock.fastForward(25_000);
      await look(page, 'seat-wait', [PHONE, TABLET]);
      const before = await secondsLeft(page);
      expect(before).toBeLessThanOrEqual(36);
      await page.reload();
      await says(heading(page), /^Wait for the aftertaste of \d{3}/);
      // Where it was, not from the start.
      expect(await secondsLeft(page)).toBeLessThanOrEqual(before);
      expect(await secondsLeft(page)).toBeGreaterThan(before - 25);
    }
    await page.clock.fastForward(60_000);
    await says(heading(page), /^What do you notice from \d{3} now/);
    await settled(page);
    if (cup === 1) {
      await page.locator('main .act button.do').tap();
      await says(page.getByRole('alert'), /Choose what is there, or say none of these/);
    }
    await page.getByRole('checkbox', { name: /^bitter/ }).tap({ force: true });
    if (cup === 1) {
      await look(page, 'seat-question', [PHONE, TABLET]);
      await page.reload();
      await says(heading(page), /^What do you notice from \d{3} now/);
      await expect.poll(() => page.getByRole('checkbox', { name: /^bitter/ }).isChecked()).toBe(true);
      await settled(page);
    }
    await page.locator('main .act button.do').tap();
  }
  await says(heading(page), /^That was your last/);
  await page.getByText('The host has all your answers').first().waitFor();
  return page;
}

async function byKeys(session: SessionView): Promise<Page> {
  const page = await newPage(PHONE);
  await sitDown(page, session, 2);
  for (let cup = 0; cup < 2; cup++) {
    await settled(page);
    await press(page, /^None of these$/, 'Space');
    await press(page, /^Done with/, 'Enter');
    await says(heading(page), /^Wait for the aftertaste of \d{3}/);
    await page.clock.fastForward(61_000);
    await says(heading(page), /^What do you notice from \d{3} now/);
    // The question is what is read out: its heading has the focus.
    expect(await heading(page).evaluate((element) => element === document.activeElement)).toBe(true);
    await settled(page);
    await press(page, /^None of these$/, 'Space');
    await press(page, /^Done with/, 'Enter');
  }
  await says(heading(page), /^That was your last/);
  await page.getByText('The host has all your answers').first().waitFor();
  return page;
}

test('a late question from the plan to the result', { timeout: 240_000 }, async () => {
  const trial = await newTrial(host);
  const id = await plan(trial.id);
  const kept = await host.caller.ok<SessionView>('GET', `/api/sessions/${id}`);
  const [part] = kept.settings.parts;
  expect(part).toMatchObject({ kind: 'description', late: { seconds: 60 } });
  expect(kept.settings.lingering).toEqual(['bitter']);
  const late = part?.kind === 'description' ? part.late?.words : [];
  expect(late).toContain('bitter');
  expect(late).not.toContain('warming');

  const session = await moved(host, kept, 'seal', 'open');
  await byTouch(session);
  await byKeys(session);
  await moved(host, session, 'close', 'reveal');

  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${id}/result`);
  const [told] = result.parts;
  if (told?.kind !== 'description' || !told.late) throw new Error('it was asked late');
  // One of two people had it late in both cups, and at first in none.
  expect(told.late.words.map(({ word, beside }) => [word, beside.map((one) => one?.came)])).toEqual([
    ['bitter', [1, 1]],
  ]);
  expect(told.words).toEqual([]);
  const bench = await newPage();
  await signIn(bench, stage.address, 'Host');
  await bench.goto(`${stage.address}/bench/session/${id}/result`);
  const main = bench.locator('main');
  await says(main, /After 60 s, without tasting again/);
  // What was fixed beforehand says so.
  await bench.goto(`${stage.address}/bench/session/${id}`);
  await says(main, /late question\s+\w+\s+words?, 60 s after each cup/);
  await says(main, /what lingers\s+bitter/);
  await bench.goto(`${stage.address}/bench/session/${id}/result`);
  await says(main, /After 60 s, without tasting again/);
  for (const fold of await bench.locator('details:not([open]) > summary').all()) {
    if (await fold.isVisible()) await fold.click();
  }
  await says(main, /came only later/);
  await look(bench, 'result');
  const view: SeatView['session']['state'] = 'revealed';
  expect((await host.caller.ok<SessionView>('GET', `/api/sessions/${id}`)).state).toBe(view);
  expect(stage.errors).toEqual([]);
});
