import { readFile, writeFile } from 'node:fs/promises';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { draft, firstHost, invited, moved, newTrial, startServer, type Hosted } from '../support/app.ts';
import type { TestServer } from '../support/app.ts';
import { foundFit, trialInput } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES, WCAG } from '../support/looking.ts';
import { playTablets } from '../support/simulated-panel.ts';
import { useStage } from '../support/stage.ts';
import { palate, storyParts } from '../support/story-evenings.ts';

// By clicks: one plan for three places, two of them here and one on a server of its own without network between them; its
// file taken there, its ballots brought back, and a result that counts everybody once.

let away: TestServer;
let awayAddress: string;
let host: Hosted;
let awayHost: Hosted;
let trial: TrialView;
let session: SessionView;
let page: Page;
let code = '';

const stage = useStage('sites');
beforeAll(async () => {
  const { loadPages } = await import('@oddglass/server/boot/open-server.ts');
  host = await firstHost(stage.server.app);
  await invited(host, 'steward', 'Steward');
  const made = await newTrial(host, {
    arms: trialInput().arms.map((arm) => ({ ...arm, volumeMl: 20_000 })),
  });
  trial = await foundFit((...call) => host.caller.ok(...call), made, new Date().toISOString());
  away = await startServer({ webHandler: await loadPages(), clock: () => new Date() });
  awayAddress = (await away.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
  awayHost = await firstHost(away.app, 'Farmer');
  page = await stage.signedIn('Host', SIZES.laptop, { reducedMotion: 'reduce' });
});
afterAll(() => away.close());

async function look(shown: Page, name: string): Promise<void> {
  for (const size of ['tablet', 'phone', 'laptop'] as const) {
    await shown.setViewportSize(SIZES[size]);
    await stage.picture(shown, `${name}-${size}`);
    await expectFits(shown, `${name} at ${size}`);
  }
  await expectAccessible(shown, name, WCAG);
}

test('a plan is made for three places, each with its people', async () => {
  const made = await draft(host, trial, {
    assessors: 12,
    spareSeats: 0,
    parts: storyParts(trial),
    title: 'Three tables',
  });
  await page.goto(`${stage.address}/bench/session/${made.id}`);
  await page.getByRole('button', { name: 'Taste at several places' }).click();
  await page.getByRole('button', { name: 'Add a place' }).click();
  const places = page.getByRole('list', { name: 'Places' }).getByRole('listitem');
  for (const [at, name] of ['Cellar', 'Harbour', 'Hill farm'].entries()) {
    await places
      .nth(at)
      .getByLabel(`Place ${at + 1}`, { exact: true })
      .fill(name);
    await places
      .nth(at)
      .getByLabel('Assessors there')
      .fill(String(at === 2 ? 4 : 6));
    await places
      .nth(at)
      .getByLabel('Spare seats there')
      .fill(at === 2 ? '1' : '0');
  }
  await page.getByText('16 assessors and 1 spare seat at all places').waitFor();
  await page.getByText('Poured at three places by one sealed plan').waitFor();
  await look(page, 'plan');
  await page.getByRole('button', { name: 'Keep the changes' }).click();
  await page.getByRole('button', { name: 'Kept as a draft' }).waitFor();
  session = await moved(host, made, 'seal');
  expect(session.settings.sites?.map(({ name }) => name)).toEqual(['Cellar', 'Harbour', 'Hill farm']);
});

test('the steward pours by place, and saves the file of the one without network', async () => {
  const steward = await stage.signedIn('Steward', SIZES.laptop);
  await steward.goto(`${stage.address}/bench/session/${session.id}/pour?site=2`);
  await steward.getByText('Pour list, by bottle, Harbour').waitFor();
  await steward.getByText('How warm are the cups, and do they look alike?').click();
  await steward.getByLabel('Temperature in the cup, °C').fill('9.5');
  await steward.getByLabel('alike', { exact: true }).check();
  await steward.getByLabel('How bottles or cups came here').fill('cool box, an hour by boat');
  await steward.getByLabel('Minutes from pouring to the first sip').fill('15');
  await steward.getByRole('button', { name: 'Note it' }).click();
  await steward.getByText('Noted: 9.5 °C, looks alike').waitFor();
  await look(steward, 'pour');

  await steward.goto(`${stage.address}/bench/session/${session.id}`);
  await steward.getByRole('button', { name: 'Save the file of Hill farm' }).click();
  const [download] = await Promise.all([
    steward.waitForEvent('download'),
    steward.getByRole('button', { name: 'Save the file', exact: true }).click(),
  ]);
  await download.saveAs(`${stage.shots}/place.json`);
  const shown = steward.getByText(/^[A-Z0-9]{4}(-[A-Z0-9]{4}){3}$/);
  await shown.waitFor();
  code = (await shown.textContent()) ?? '';
  await look(steward, 'code');
  await steward.getByRole('button', { name: 'Done' }).click();
  await steward.getByText('tasted on another server, ballots still to come').first().waitFor();
});

test('the place takes its file in, tastes, and saves its ballots', async () => {
  const farm = await (await stage.browser.newContext({ viewport: SIZES.laptop })).newPage();
  farm.on('pageerror', ({ message }) => stage.errors.push(message));
  const { signIn } = await import('../support/sign-in.ts');
  await signIn(farm, awayAddress, 'Farmer');
  await farm.getByRole('link', { name: 'Take a file in' }).click();
  await farm.getByLabel('File of the place').setInputFiles(`${stage.shots}/place.json`);
  await farm.getByLabel('Its code').fill('ACDE-ACDE-ACDE-ACDE');
  const take = farm.getByRole('button', { name: 'Take it in' });
  await take.click();
  await farm.getByText('This code does not open this file').first().waitFor();
  await look(farm, 'place');
  await farm.getByLabel('Its code').fill(code);
  await take.click();
  await farm.waitForURL(/\/bench\/session\//);
  await farm.getByRole('heading', { name: 'Tasted for another table' }).waitFor();
  await look(farm, 'guest');

  const id = farm.url().split('/').at(-1) ?? '';
  const here: Hosted = { caller: awayHost.caller, panel: '' };
  const sealed = await here.caller.ok<SessionView>('GET', `/api/sessions/${id}`);
  const arms = await here.caller.ok<TrialView>('GET', `/api/trials/${sealed.trialId}`);
  await foundFit((...call) => here.caller.ok(...call), arms, new Date().toISOString());
  const open = await moved(here, sealed, 'open');
  await playTablets(away, open, palate(3, 6), 4);
  await moved(here, open, 'close');
  await farm.getByRole('button', { name: 'Save the ballots' }).waitFor();
  await look(farm, 'guest-closed');
  const [download] = await Promise.all([
    farm.waitForEvent('download'),
    farm.getByRole('button', { name: 'Save the ballots' }).click(),
  ]);
  await download.saveAs(`${stage.shots}/ballots.json`);
  await farm.close();
});

test('its ballots are brought, once and unchanged; the result counts everybody once, and tells places apart', async () => {
  session = await moved(host, session, 'open');
  const tablet = await stage.newPage(SIZES.phone);
  await tablet.goto(`${stage.address}/seat#${session.join?.token}`);
  await tablet.getByRole('group', { name: 'Harbour' }).waitFor();
  await look(tablet, 'seats');
  await playTablets(stage.server, session, palate(8, 6), 12);

  await page.goto(`${stage.address}/bench/session/${session.id}`);
  await page.getByRole('heading', { name: 'Hill farm', exact: true }).waitFor();
  await page.getByRole('button', { name: 'Close tasting…' }).click();
  await page.getByText('The ballots of Hill farm were not brought yet.').waitFor();
  await page.getByRole('button', { name: 'Not yet' }).click();

  const bring = page.getByLabel('Bring the ballots of a place');
  const whole = await readFile(`${stage.shots}/ballots.json`, 'utf8');
  const at = whole.indexOf('"sealed":"') + 40;
  const changed = whole.slice(0, at) + (whole[at] === 'a' ? 'b' : 'a') + whole.slice(at + 1);
  await writeFile(`${stage.shots}/changed.json`, changed);
  await bring.setInputFiles(`${stage.shots}/changed.json`);
  await page.getByText('This file was changed since it was saved.').waitFor();
  await bring.setInputFiles(`${stage.shots}/ballots.json`);
  await page.getByText('The ballots of Hill farm are in: 12 answers of 4 people.').waitFor();
  await bring.setInputFiles(`${stage.shots}/ballots.json`);
  await page.getByText('The ballots of Hill farm were in already: nothing was changed.').waitFor();
  await look(page, 'board');

  await moved(host, session, 'close', 'reveal');
  await page.goto(`${stage.address}/bench/session/${session.id}/result`);
  const places = page.getByRole('region', { name: 'Place by place' });
  await places.getByText('Hill farm, ballots brought').first().waitFor();
  const counts = await places.getByRole('table').first().getByRole('row').allInnerTexts();
  expect(counts.slice(1).map((row) => row.split(/\s*\t\s*/))).toEqual([
    ['Cellar', '6', '6', '6'],
    ['Harbour', '6', '6', '2'],
    ['Hill farm, ballots brought', '4', '4', '3'],
  ]);
  await page.getByText('11 of 16').first().waitFor();
  await look(page, 'result');
  expect(stage.errors).toEqual([]);
});
