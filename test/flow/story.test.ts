import { randomUUID } from 'node:crypto';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { firstHost, newTrial } from '../support/app.ts';
import { foundFit } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES } from '../support/looking.ts';
import { playSession } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';
import { useStage } from '../support/stage.ts';

const SCREENS = [SIZES.phone, SIZES.tablet, SIZES.laptop];
const stage = useStage('story', { clock: 'moved' });

type Ask = (method: string, at: string, body: unknown) => Promise<never>;

/** The lists of the panel and of the trial: what is due, and a small plot beside what was found. */
async function panelPages(
  page: Page,
  plain: Page,
  { address, panel, trial, ask }: { address: string; panel: string; trial: string; ask: Ask },
): Promise<void> {
  const at = `${address}/bench/panel/${panel}`;
  await plain.goto(at);
  expect(await plain.textContent('main')).toContain('No pull is due this week.');
  // Two revealed sessions, each with one test of counted answers.
  expect(await plain.locator('main svg[role=img]').count()).toBe(2);
  expect(await plain.locator('main svg[role=img]').first().getAttribute('aria-label')).toMatch(
    /^One dot per answer: 12 of 12 filled; 4 expected by chance\.$/,
  );
  await ask('POST', `/api/trials/${trial}/pulls`, {
    pulls: [
      { id: randomUUID(), name: 'Day 3', when: { kind: 'day', on: '2020-01-02' } },
      { id: randomUUID(), name: 'In a year', when: { kind: 'day', on: '2090-01-02' } },
      { id: randomUUID(), name: 'Two days in', when: { kind: 'hours', hours: 48 } },
    ],
  });
  await plain.goto(at);
  const due = plain.locator('section[aria-labelledby=due]');
  expect(await due.locator('li').allTextContents()).toEqual([expect.stringMatching(/Day 3.*overdue/s)]);
  expect(await due.textContent()).toContain('Planned for later: 1.');
  expect(await due.textContent()).toContain('One pull waits for the day of pitching to be noted.');
  await due.locator('li a').click();
  await plain.waitForURL(/\/pull\//);
  await page.goto(`${address}/bench`);
  await page.route('**/api/panels/*/pulls', (route) => route.abort());
  await page.locator(`a[href="/bench/panel/${panel}"]`).click();
  await page.getByText('What is due could not be read now.').waitFor();
  await page.unroute('**/api/panels/*/pulls');
  await page.getByRole('button', { name: 'Look again' }).click();
  await page.locator('section[aria-labelledby=due] li').waitFor();
  for (const [name, path] of [
    ['panel', at],
    ['trial', `${address}/bench/trial/${trial}`],
  ] as const) {
    await page.goto(path);
    expect(await page.locator('main svg[role=img]').count(), name).toBe(2);
    for (const { width, height } of SCREENS) {
      await page.setViewportSize({ width, height });
      await expectFits(page, `${name}, ${width} wide`);
      await stage.picture(page, `${name}-${width}`);
    }
    await expectAccessible(page, name);
  }
}

test('a story is whole without scripts, clean to axe and fits its screens, empty and with two evenings', async () => {
  const { server, address } = stage;
  const host = await firstHost(server.app);
  const trial = await newTrial(host);
  const contexts = await Promise.all(
    [true, false].map((javaScriptEnabled) => stage.browserOf(host, { javaScriptEnabled })),
  );
  const [page, plain] = await Promise.all(contexts.map((context) => context.newPage()));
  const path = `${address}/bench/trial/${trial.id}/story`;

  await page!.goto(path);
  expect(await page!.textContent('main')).toContain('No session of this trial is revealed yet.');
  await expectAccessible(page!, 'empty');

  const settings = { assessors: 12, spareSeats: 0, parts: storyParts(trial) };
  await playSession(server, host, trial, { ...settings, title: 'Day 2' }, palate(4, 0));
  server.clock.now = new Date(server.clock.now.getTime() + 2 * 86_400_000);
  const ask = (method: string, at: string, body: unknown) => host.caller.ok<never>(method, at, body);
  await foundFit(ask, trial, server.clock.now.toISOString());
  await playSession(server, host, trial, { ...settings, title: 'Day 4' }, palate(12, 30));

  await plain!.goto(path);
  const words = (await plain!.textContent('main')) ?? '';
  expect(words).toContain('The difference was not equally large in these two sessions');
  expect(words).toContain('What this does not show');
  // A plot for the desk and one for the phone: the test, and sourness.
  expect(await plain!.locator('svg.plot').count()).toBe(4);
  expect(await plain!.locator('svg.plot').first().getAttribute('aria-label')).toMatch(/d-prime \d/);
  // Without scripts each plot is a file of its own.
  const files = await plain!
    .locator('a[download$=".svg"]')
    .evaluateAll((links) => links.map((link) => (link as HTMLAnchorElement).href));
  expect(files.map((one) => one.split('/').at(-1))).toEqual(['difference-1.svg', 'attribute-1.svg']);
  for (const file of files) {
    const answer = await contexts[1]!.request.get(file);
    expect(answer.headers()['content-type']).toContain('image/svg+xml');
    const svg = await answer.text();
    const drawn = await page!.evaluate((text) => {
      const parsed = new DOMParser().parseFromString(text, 'image/svg+xml');
      return {
        broken: parsed.querySelector('parsererror') !== null,
        marks: parsed.querySelectorAll('path').length,
      };
    }, svg);
    expect(drawn.broken, file).toBe(false);
    expect(drawn.marks, file).toBeGreaterThan(2);
    expect(svg).not.toContain('var(--');
  }
  expect((await contexts[1]!.request.get(`${path}/word-9.svg`)).status()).toBe(404);
  expect(await plain!.getByRole('button', { name: 'PNG' }).count()).toBe(0);

  await page!.goto(path);
  for (const { width, height } of SCREENS) {
    await page!.setViewportSize({ width, height });
    await expectFits(page!, `${width} wide`);
    await expectAccessible(page!, `${width} wide`);
    await stage.picture(page!, `story-${width}`);
  }
  await page!.getByRole('button', { name: 'PNG' }).first().waitFor();
  await panelPages(page!, plain!, { address, panel: host.panel, trial: trial.id, ask });
  await page!.goto(path);
  const pdf = (await page!.pdf({ format: 'A4' })).toString('latin1');
  const pages = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
  expect(pages).toBeGreaterThan(0);
  expect(pages).toBeLessThanOrEqual(5);
});
