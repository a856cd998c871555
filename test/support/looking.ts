import { setTimeout as wait } from 'node:timers/promises';
import AxeBuilder from '@axe-core/playwright';
import type { Page, ViewportSize } from 'playwright-core';
import { expect } from 'vitest';

/** The three screens that pages are looked at on. */
export const SIZES = {
  laptop: { width: 1440, height: 900 },
  tablet: { width: 1180, height: 820 },
  phone: { width: 390, height: 844 },
} as const satisfies Record<string, ViewportSize>;

const MOVES_MS = 2_000;

/** Axe's rules by their tags, where a page is not held to all of them. */
export const WCAG = ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'];
/** The same with good practice, for pages that anybody reads. */
export const GOOD_PRACTICE = [...WCAG, 'wcag21a', 'best-practice'];

/** Axe finds nothing on the page as it stands; by all of its rules unless some are named. */
export async function expectAccessible(page: Page, name: string, tags?: readonly string[]): Promise<void> {
  await settled(page);
  const builder = new AxeBuilder({ page });
  // Else axe itself fetches the styles once more, which a browser refuses there.
  if (page.url().startsWith('file:')) builder.options({ preload: false });
  const { violations } = await (tags ? builder.withTags([...tags]) : builder).analyze();
  const found = violations.map(
    ({ id, nodes }) => `${name}: ${id} ${nodes.map(({ html }) => html).join(' ')}`,
  );
  expect(found).toEqual([]);
}

/** Colours are judged, not their fading in. What moves for ever is not waited for, nor what is on hold for long. */
async function settled(page: Page): Promise<void> {
  const still = page.evaluate(async () => {
    const ends = (animation: Animation): boolean =>
      Number(animation.effect?.getComputedTiming().endTime ?? 0) < Infinity;
    await document.fonts.ready;
    await Promise.allSettled(
      document
        .getAnimations()
        .filter(ends)
        .map(({ finished }) => finished),
    );
  });
  await Promise.race([still, wait(MOVES_MS)]);
}

/** Nothing reaches beyond the width of the screen; where something does, the first that do are named. */
export async function expectFits(page: Page, name: string): Promise<void> {
  const { over, wide } = await page.evaluate(() => {
    const { scrollWidth, clientWidth } = document.documentElement;
    const beyond = [...document.querySelectorAll('body *')].filter(
      (element) => element.getBoundingClientRect().right > clientWidth + 0.5,
    );
    return {
      over: scrollWidth - clientWidth,
      wide: beyond.slice(0, 6).map((element) => element.outerHTML.slice(0, 120)),
    };
  });
  expect(over, `${name} is wider than its screen: ${wide.join(' … ')}`).toBeLessThanOrEqual(0);
}

/** Does the same on screens of these sizes, named by their width, and leaves the page as large as it was. */
export async function onScreens(
  page: Page,
  sizes: readonly ViewportSize[],
  act: (width: number) => Promise<void>,
): Promise<void> {
  const before = page.viewportSize();
  for (const size of sizes) {
    await page.setViewportSize(size);
    await act(size.width);
  }
  if (before) await page.setViewportSize(before);
}
