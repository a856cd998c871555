import type { Page } from 'playwright-core';

// Two ways through any seat, whatever is asked: by taps, and by the keyboard alone. Both answer what stands on the
// screen and press what leads on, until the thanks.

const LAST = /^That was your last/;
// The foot takes no press at first, so that a double tap does nothing: what follows has to wait as people do.
const SETTLED_MS = 450;
const MAX_SCREENS = 80;

export type Look = (page: Page, heading: string) => Promise<void>;

const headingOf = async (page: Page): Promise<string> =>
  (await page.locator('main h1').first().innerText()).replaceAll(/\s+/g, ' ');

/** Goes on until the thanks; `act` answers one screen and presses on. */
async function through(page: Page, look: Look, act: (page: Page) => Promise<void>): Promise<string[]> {
  const screens: string[] = [];
  for (let screen = 0; screen < MAX_SCREENS; screen++) {
    const heading = await headingOf(page);
    if (LAST.test(heading)) return screens;
    screens.push(heading);
    await look(page, heading);
    await page.waitForTimeout(SETTLED_MS);
    const before = await stateOf(page);
    // What an answer brings up (how strong a word is) may be asked before going on: then once more.
    for (let turn = 0; turn < 2 && (await stateOf(page)) === before; turn++) {
      await act(page);
      for (let wait = 0; wait < 40 && (await stateOf(page)) === before; wait++) await page.waitForTimeout(50);
    }
    if ((await stateOf(page)) === before)
      throw new Error(`stuck at '${heading}': ${await page.locator('main').innerText()}`);
  }
  throw new Error(`no end after ${MAX_SCREENS} screens: ${screens.join(' | ')}`);
}

/** What tells one screen from the next: its heading and its words, but not what is being chosen on it. */
const stateOf = (page: Page): Promise<string> =>
  page.locator('main').evaluate((main) => {
    const step = main.firstElementChild as (Element & { seen?: number }) | null;
    // A screen is made anew for each step: the same element is the same screen.
    if (step) step.seen ??= performance.now();
    return `${step?.seen}`;
  });

/** By taps: every line, every choice, every cup to place, then on. */
export function byTouch(page: Page, look: Look): Promise<string[]> {
  return through(page, look, async () => {
    for (const line of await page.getByRole('slider').all()) {
      await line.scrollIntoViewIfNeeded();
      const box = await line.boundingBox();
      if (box) await page.touchscreen.tap(box.x + box.width * 0.4, box.y + box.height / 2);
    }
    for (const group of await page.locator('main fieldset').all()) {
      const radio = group.locator('input[type=radio]').first();
      if ((await radio.count()) > 0 && (await group.locator('input[type=radio]:checked').count()) === 0) {
        await radio.tap({ force: true });
      }
    }
    const pair = page.locator('main .cups input[type=checkbox]');
    for (let at = 0; at < Math.min(2, await pair.count()); at++) await pair.nth(at).tap({ force: true });
    const cups = page.getByRole('group', { name: 'Cups, left to right' }).getByRole('button');
    for (const cup of await cups.all()) await cup.tap();
    const words = page.locator('main .words input[type=checkbox]:visible');
    const picked = page.locator('main .words input[type=checkbox]:checked');
    if ((await words.count()) > 0 && (await picked.count()) === 0) await words.first().tap({ force: true });
    for (const strength of await page
      .locator('main fieldset:has(input[type=radio]):not(:has(:checked))')
      .all()) {
      await strength.locator('input[type=radio]').first().tap({ force: true });
    }
    await page.locator('main .act button.do').tap();
  });
}

type Focus = 'line' | 'radio' | 'pair' | 'place' | 'word' | 'on' | 'other';

/** What has the focus, and whether it still wants something. */
const focused = (page: Page): Promise<{ kind: Focus; name: string }> =>
  page.evaluate(() => {
    const element = document.activeElement as HTMLElement | null;
    const name = element?.getAttribute('aria-label') ?? element?.textContent?.trim() ?? '';
    const as = (kind: Focus) => ({ kind, name });
    if (!element || !element.closest('main')) return as('other');
    if (element instanceof HTMLInputElement && element.type === 'range') {
      return as(element.getAttribute('aria-valuetext')?.match(/\d/) ? 'other' : 'line');
    }
    if (element instanceof HTMLInputElement && element.type === 'radio') {
      const group = element.closest('fieldset');
      return as(group?.querySelector('input[type=radio]:checked') ? 'other' : 'radio');
    }
    if (element instanceof HTMLInputElement && element.type === 'checkbox') {
      if (element.closest('.cups')) {
        const chosen = document.querySelectorAll('main .cups input[type=checkbox]:checked').length;
        return as(chosen < 2 && !element.checked ? 'pair' : 'other');
      }
      const words = element.closest('.words');
      return as(words && !document.querySelector('main .words input:checked') ? 'word' : 'other');
    }
    if (element.closest('[role=group]')?.getAttribute('aria-label') === 'Cups, left to right') {
      return as(element.getAttribute('aria-pressed') === 'true' ? 'other' : 'place');
    }
    return as(element.closest('.act') && element.classList.contains('do') ? 'on' : 'other');
  });

/** By the keyboard alone: Tab through the screen, answer what has the focus, Enter on what leads on. */
export function byKeyboard(page: Page, look: Look): Promise<string[]> {
  return through(page, look, async () => {
    // A screen that was not left keeps the focus on its last button: the way round begins anew.
    await page.keyboard.press('Tab');
    for (let tab = 0; tab < 300; tab++) {
      const { kind } = await focused(page);
      if (kind === 'line') {
        await page.keyboard.press('ArrowRight');
        await page.keyboard.press('ArrowRight');
      } else if (kind === 'radio' || kind === 'pair' || kind === 'word') await page.keyboard.press('Space');
      else if (kind === 'place') await page.keyboard.press('Enter');
      else if (kind === 'on') return page.keyboard.press('Enter');
      await page.keyboard.press('Tab');
    }
    throw new Error(`the keyboard does not lead on from '${await headingOf(page)}'`);
  });
}
