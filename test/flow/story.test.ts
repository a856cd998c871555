import { mkdirSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { AxeBuilder } from '@axe-core/playwright';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import { expect, test } from 'vitest';
import { firstHost, newTrial, startServer } from '../support/app.ts';
import { launchBrowser } from '../support/browser.ts';
import { foundFit } from '../support/factories.ts';
import { playSession } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';

const root = new URL('../../', import.meta.url).pathname;
const shots = process.env['STORY_SHOTS'];

test('a story is whole without scripts, clean to axe and fits its screens, empty and with two evenings', async () => {
  const { handler } = (await import(pathToFileURL(`${root}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  const server = await startServer({ webHandler: handler });
  const browser = await launchBrowser();
  try {
    const address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace(
      '127.0.0.1',
      'localhost',
    );
    const host = await firstHost(server.app);
    const trial = await newTrial(host);
    const [name = '', value = ''] = (host.caller.cookie ?? '').split('=');
    const contexts = await Promise.all(
      [true, false].map((javaScriptEnabled) => browser.newContext({ javaScriptEnabled })),
    );
    for (const context of contexts) await context.addCookies([{ name, value, url: address }]);
    const [page, plain] = await Promise.all(contexts.map((context) => context.newPage()));
    const path = `${address}/bench/trial/${trial.id}/story`;

    await page!.goto(path);
    expect(await page!.textContent('main')).toContain('No session of this trial is revealed yet.');
    expect((await new AxeBuilder({ page: page! }).analyze()).violations).toEqual([]);

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

    await page!.goto(path);
    for (const [width, height] of [
      [390, 844],
      [1180, 820],
      [1440, 900],
    ] as const) {
      await page!.setViewportSize({ width, height });
      const over = await page!.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      expect(over, `${width} wide`).toBeLessThanOrEqual(0);
      expect((await new AxeBuilder({ page: page! }).analyze()).violations, `${width} wide`).toEqual([]);
      if (shots) {
        mkdirSync(shots, { recursive: true });
        await page!.screenshot({ path: `${shots}/story-${width}.png`, fullPage: true });
      }
    }
    const pdf = (await page!.pdf({ format: 'A4' })).toString('latin1');
    const pages = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    expect(pages).toBeGreaterThan(0);
    expect(pages).toBeLessThanOrEqual(5);
    if (shots) await page!.pdf({ format: 'A4', path: `${shots}/story.pdf` });
  } finally {
    await browser.close();
    await server.close();
  }
});
