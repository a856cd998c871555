import { copyFile, mkdir } from 'node:fs/promises';
import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import type { PanelView } from '@oddglass/shared/contracts/panel.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { Browser, Page } from 'playwright-core';
import { launchBrowser } from './support/browser.ts';
import { PASSPHRASE } from './support/factories.ts';
import { Service } from './support/service.ts';

// npm run screenshots: the demo's screens at tablet, laptop and phone size into test/.artifacts/screenshots,
// and the ones the README shows into test/screenshots. To be looked at, not compared.

const SIZES = {
  tablet: { width: 1180, height: 820 },
  phone: { width: 390, height: 844 },
  laptop: { width: 1440, height: 900 },
};
const IN_README = [
  'seat-choose-tablet',
  'seat-masking-tablet',
  'result-laptop',
  'board-laptop',
  'pour-tablet',
];
const root = new URL('..', import.meta.url).pathname;
const folder = `${root}test/.artifacts/screenshots`;

const service = await Service.inNewFolder();
let browser: Browser | undefined;
try {
  await service.start();
  browser = await launchBrowser();
  await mkdir(folder, { recursive: true });
  await takeAll(browser);
  for (const name of IN_README)
    await copyFile(`${folder}/${name}.png`, `${root}test/screenshots/${name}.png`);
} finally {
  await browser?.close();
  await service.remove();
}

async function takeAll(chromium: Browser): Promise<void> {
  const bench = await (await chromium.newContext({ locale: 'en-GB' })).newPage();
  const base = service.address.replace('127.0.0.1', 'localhost');
  const post = async <T>(path: string, data: object): Promise<T> =>
    (await bench.request.post(base + path, { data })).json() as Promise<T>;
  await post<ActorView>('/api/first-host', {
    token: await service.firstHostToken(),
    panel: 'Own panel',
    name: 'host',
    passphrase: PASSPHRASE,
  });
  const { sessions } = await post<PanelView>('/api/panels/demo', {});
  const open = sessions.find(({ state }) => state === 'open')?.id ?? '';
  const revealed = sessions.find(({ title }) => title.endsWith('day 21'))?.id ?? '';
  const { join } = (await (await bench.request.get(`${base}/api/sessions/${open}`)).json()) as SessionView;

  for (const [size, viewport] of Object.entries(SIZES)) {
    const seat = await (await chromium.newContext({ viewport, hasTouch: true })).newPage();
    const shot = (page: Page, name: string) => page.screenshot({ path: `${folder}/${name}-${size}.png` });
    await seat.goto(`${base}/seat#${join?.token}`);
    await seat.getByRole('button', { name: /^Take seat/ }).click();
    await shot(seat, 'seat-cautions');
    await seat.getByRole('button', { name: 'I have read this and take part' }).click();
    await seat.getByRole('heading', { name: /^Taste \d{3}$/ }).waitFor();
    await shot(seat, 'seat-taste');
    for (let cup = 1; cup <= 3; cup++) await seat.getByRole('button', { name: /^Tasted\./ }).click();
    await seat.locator('.cups input').nth(1).check({ force: true });
    await seat.getByRole('radio', { name: 'Fairly sure' }).check({ force: true });
    await shot(seat, 'seat-choose');
    await seat.getByRole('button', { name: 'Masking light' }).click();
    await shot(seat, 'seat-masking');
    await seat.getByRole('button', { name: 'Next: what told it apart' }).click();
    await shot(seat, 'seat-describe');
    await seat.getByRole('button', { name: 'Next: review' }).click();
    await seat.getByRole('button', { name: 'Send', exact: true }).click();
    await seat.getByRole('heading', { name: 'Rest your palate' }).waitFor();
    await shot(seat, 'seat-rest');
    await seat.context().close();

    await bench.setViewportSize(viewport);
    for (const [name, path] of [
      ['board', `/bench/session/${open}`],
      ['result', `/bench/session/${revealed}/result`],
      ['seal', `/bench/session/${revealed}/seal`],
    ] as const) {
      await bench.goto(base + path);
      await bench.waitForTimeout(600);
      if (name === 'result') {
        // The key opens once, at first sight of a result; the picture is of the article below it.
        await bench
          .getByRole('button', { name: /skip|straight/i })
          .first()
          .click({ timeout: 500 })
          .catch(() => undefined);
        await bench.waitForTimeout(400);
      }
      await shot(bench, name);
    }
  }
  await post(`/api/sessions/${open}/take-key`, {});
  for (const [size, viewport] of Object.entries(SIZES)) {
    await bench.setViewportSize(viewport);
    await bench.goto(`${base}/bench/session/${open}/pour`);
    const cups = bench.getByRole('checkbox');
    for (let cup = 0; cup < 7; cup++) await cups.nth(cup).check({ force: true });
    await bench.waitForTimeout(400);
    await bench.screenshot({ path: `${folder}/pour-${size}.png` });
  }
}
