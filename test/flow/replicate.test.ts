import { writeFile } from 'node:fs/promises';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, moved, newTrial, type Hosted } from '../support/app.ts';
import { foundFit } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES, WCAG } from '../support/looking.ts';
import { publish, publishing } from '../support/publishing.ts';
import { signIn } from '../support/sign-in.ts';
import { playSession, playTablets } from '../support/simulated-panel.ts';
import { palate, storyParts } from '../support/story-evenings.ts';
import { useStage } from '../support/stage.ts';

// By clicks: a published package is chosen, looked at, made a trial and a draft; tasted, it stands beside the original.

let host: Hosted;
let page: Page;
let zip: Buffer;

const stage = useStage('replicate');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  const trial = await newTrial(host);
  const fit = await foundFit((...call) => host.caller.ok(...call), trial, new Date().toISOString());
  const session = await playSession(
    stage.server,
    host,
    fit,
    { title: 'Day 20', assessors: 12, spareSeats: 0, parts: storyParts(fit) },
    palate(8, 6),
  );
  await publish(
    host,
    { trial: fit, session, receipts: [], tablets: [] },
    { address: 'original', armNames: { [fit.arms[0]!.id]: 'North', [fit.arms[1]!.id]: 'South' } },
  );
  const answer = await stage.server.app.inject({ method: 'GET', url: '/api/p/original/package.zip' });
  zip = answer.rawPayload;
  page = await (await stage.browser.newContext({ viewport: SIZES.laptop })).newPage();
  await signIn(page, stage.address, 'Host');
});

async function look(name: string): Promise<void> {
  // The largest last: axe looks at that one.
  for (const size of ['tablet', 'phone', 'laptop'] as const) {
    const viewport = SIZES[size];
    await page.setViewportSize(viewport);
    await stage.picture(page, `${name}-${size}`);
    await expectFits(page, `${name} at ${size}`);
  }
  await expectAccessible(page, name, WCAG);
}

test('a package is chosen, looked at and made a trial with a draft; published, the two stand side by side', async () => {
  await page.goto(`${stage.address}/bench/panel/${host.panel}`);
  await page.getByRole('link', { name: 'Replicate a trial' }).click();
  await page.getByText('Nothing is chosen yet.').waitFor();

  const file = page.getByLabel('Protocol or package');
  await expect.poll(() => file.isEnabled()).toBe(true);
  const text = unzipPackage(zip).find(({ path }) => path === 'protocol.json')!.bytes;
  const odd = { ...(JSON.parse(new TextDecoder().decode(text)) as object), question: '', factor: 7 };
  await writeFile(`${stage.shots}/protocol.json`, JSON.stringify(odd));
  await file.setInputFiles(`${stage.shots}/protocol.json`);
  await page.getByText('question: Fill this in.').waitFor();
  await page.getByText('factor: This is missing, or not of the form that is needed.').waitFor();
  await look('refused');

  await writeFile(`${stage.shots}/package.zip`, zip);
  await file.setInputFiles(`${stage.shots}/package.zip`);
  await page.getByRole('heading', { name: 'What will be made' }).waitFor();
  expect(await page.getByLabel('Question').inputValue()).toBe('Does a warmer fermentation taste different?');
  await page.getByText('sour (none to strong)').waitFor();
  await page.getByText('2 figures of what it found').waitFor();
  await look('preview');

  const make = page.getByRole('button', { name: 'Make the trial and the draft' });
  await make.click();
  // Volumes are those of drinks that only this host knows.
  await page.getByText('Some fields need another look.').waitFor();
  for (const arm of await page.getByRole('group', { name: /^Arm \d/ }).all()) {
    await arm.getByLabel('Volume left, mL').fill('9000');
  }
  await make.click();
  await page.waitForURL(/\/bench\/session\//);
  await page.getByText('Repeats “Cool against warm”').waitFor();
  await look('draft');

  const id = page.url().split('/').at(-1)!;
  const drafted = await host.caller.ok<SessionView>('GET', `/api/sessions/${id}`);
  expect(drafted.settings.replicates?.figures).toHaveLength(2);
  const trial = await host.caller.ok<TrialView>('GET', `/api/trials/${drafted.trialId}`);
  expect(trial.arms.map(({ name }) => name)).toEqual(['North', 'South']);
  await foundFit((...call) => host.caller.ok(...call), trial, new Date().toISOString());
  const open = await moved(host, drafted, 'seal', 'open');
  await playTablets(stage.server, open, palate(6, 6), 12);
  const revealed = await moved(host, open, 'close', 'reveal');
  // Two sessions more, so that there are some to set beside each other.
  const others: SessionView[] = [];
  for (const right of [4, 11]) {
    const { replicates: _link, ...settings } = drafted.settings;
    others.push(
      await playSession(stage.server, host, trial, { ...settings, title: `With ${right}` }, palate(right, 3)),
    );
  }
  await host.caller.ok('POST', `/api/trials/${trial.id}/publications`, {
    ...publishing(trial, [revealed, ...others], { title: 'North or south, again' }),
    address: 'again',
  });
  await page.goto(`${stage.address}/p/again`);
  await page.getByRole('heading', { name: 'Beside the tasting it repeats' }).waitFor();
  const beside = page.getByRole('region', { name: 'Beside the tasting it repeats' });
  expect(await beside.innerText()).toContain('compatible with one and the same size');
  const forests = page.getByRole('region', { name: 'Sessions beside each other' });
  expect(await forests.innerText()).toMatch(/Q = \d/);
  expect(await forests.innerText()).toContain('mean over sessions');
  await look('published');

  await page.goto(`${stage.address}/bench/trial/${trial.id}/story`);
  await page.getByRole('heading', { name: 'Do the sessions agree?' }).waitFor();
  await look('story');
});
