import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Page, ViewportSize } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { draft, firstHost, invited, moved, type Hosted } from '../support/app.ts';
import { trialInput } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES, WCAG } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

const { laptop: LAPTOP, phone: PHONE } = SIZES;

let host: Hosted;

const stage = useStage('safety');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  await invited(host, 'steward', 'Steward');
});

const signedIn = (name: string, viewport: ViewportSize = LAPTOP): Promise<Page> =>
  stage.signedIn(name, viewport, { hasTouch: true });

async function look(page: Page, name: string): Promise<void> {
  await stage.picture(page, name);
  await expectAccessible(page, name, WCAG);
  await expectFits(page, name);
}

const answer = (page: Page, question: string, told: 'yes' | 'no' | 'not known') =>
  page.getByRole('radiogroup', { name: question }).getByRole('radio', { name: told, exact: true }).check();
const MOULD = 'Mould, or a growth nobody can name';

test('beer without alcohol is opened only after somebody has looked, to smell only, and stops at mould', async () => {
  const { arms } = trialInput();
  const trial = await host.caller.ok<TrialView>('POST', `/api/panels/${host.panel}/trials`, {
    ...trialInput(),
    arms: arms.map((arm) => ({ ...arm, abv: 0.4 })),
  });
  const session = await moved(host, await draft(host, trial, { assessors: 2, spareSeats: 0 }), 'seal');

  const bench = await signedIn('Host');
  await bench.goto(`${stage.address}/bench/session/${session.id}`);
  const open = bench.getByRole('button', { name: /^Open/ });
  await open.click();
  await bench.getByText('Coolvessel: Nobody has looked').waitFor();
  await look(bench, 'nobody-looked');

  // What it comes to is said while it is filled in.
  await bench.getByRole('button', { name: 'Note what it is like today: Coolvessel' }).click();
  const form = bench.getByRole('form', { name: 'What Coolvessel is like today' });
  await answer(bench, MOULD, 'yes');
  await form.getByText('throw it out').waitFor();
  await answer(bench, MOULD, 'no');
  await answer(bench, 'Stood closed and unchilled for more than a day before it was pitched', 'no');
  await answer(bench, 'Gravity still falling', 'no');
  await answer(bench, 'Made with hops', 'no');
  await form.getByLabel('pH', { exact: true }).fill('4,3');
  await form.getByText('measure it within the week').waitFor();
  await form
    .getByLabel('Meter calibrated on')
    .fill(await bench.evaluate(() => new Date().toLocaleDateString('sv-SE')));
  await form.getByText('Smell only: do not taste').waitFor();
  await form.getByLabel(/I looked at the other arms too/).check();
  await look(bench, 'form');
  await bench.setViewportSize(PHONE);
  await look(bench, 'form-phone');
  await bench.setViewportSize(LAPTOP);
  await form.getByRole('button', { name: 'Note it' }).click();
  await bench.getByRole('button', { name: 'Open, to smell only' }).waitFor();
  await look(bench, 'smell-only');
  await open.click();
  await bench.getByRole('button', { name: 'Close tasting…' }).waitFor();

  const code = (await bench.locator('body').innerText()).match(/[A-Z0-9]{4}·[A-Z0-9]{4}(?!·)/)?.[0] ?? '';
  const tablet = await stage.newPage(SIZES.tablet, { hasTouch: true });
  await tablet.goto(`${stage.address}/seat`);
  await tablet.getByLabel('Code of the tasting').fill(code);
  await tablet.getByRole('button', { name: 'Show the free seats' }).click();
  await tablet.getByRole('button', { name: /^Take seat/ }).click();
  await tablet.getByText('Smell only.').waitFor();
  await look(tablet, 'seat-smell-only');
  await tablet.getByRole('button', { name: 'I have read this and take part' }).click();
  await tablet.getByRole('heading', { name: /\d{3}$/ }).waitFor();

  // The steward finds mould in a bottle.
  const cellar = await signedIn('Steward', PHONE);
  await cellar.goto(`${stage.address}/bench/session/${session.id}/pour`);
  await cellar.getByText('Before you open a bottle').click();
  await look(cellar, 'pour-phone');
  await cellar.getByRole('link', { name: 'Note what Warmvessel is like today' }).click();
  await cellar.getByRole('button', { name: 'What it is like today: Warmvessel' }).click();
  await answer(cellar, MOULD, 'yes');
  await look(cellar, 'mould-phone');
  await cellar.getByRole('button', { name: 'Note it' }).click();

  await tablet.getByText('Stop: do not taste any more.').waitFor();
  await look(tablet, 'seat-stopped');
  await bench.getByText('The tasting is stopped.').waitFor();
  await look(bench, 'board-stopped');
  expect(stage.errors).toEqual([]);
});
