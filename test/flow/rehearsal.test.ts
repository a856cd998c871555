import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { draft, firstHost, moved, newTrial, type Hosted } from '../support/app.ts';
import { trianglePart } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// A host with a sealed plan rehearses it: from its page to the result of the rehearsal, and back, by clicking alone.

let host: Hosted;
let trial: TrialView;

const stage = useStage('rehearsal');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  trial = await newTrial(host);
});

/** Looked at on three screens, and by axe. */
async function looked(page: Page, name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await page.setViewportSize(viewport);
    await expectFits(page, `${name} on a ${size}`);
    // A result is longer than anybody looks at in a picture.
    await stage.picture(page, `${name}-${size}`, name !== 'result');
  }
  await expectAccessible(page, name);
  await page.setViewportSize(SIZES.laptop);
}

const says = (page: Page) => page.getByText('Rehearsal. Nothing in it is poured or tasted', { exact: false });
const attribute = (id: string, name: string) => ({ id, name, low: 'none', high: 'much' });

test('a sealed evening is rehearsed, played, closed, revealed and read, and deleted again', async () => {
  const flight = { replicates: 1, cupsEach: null, alpha: 0.05, cups: 'own' as const };
  const samples = trial.arms.map(({ id }) => ({ armId: id, role: 'sample' as const, spike: null }));
  const session = await moved(
    host,
    await draft(host, trial, {
      title: 'Warm or cool, in June',
      parts: [
        trianglePart(trial),
        {
          kind: 'rating',
          ...flight,
          samples,
          attributes: [attribute('sour', 'Sour'), attribute('body', 'Body')],
          scale: 'line',
          by: 'sample',
          returning: false,
        },
      ],
    }),
    'seal',
  );
  const page = await stage.signedIn('Host', SIZES.laptop, { reducedMotion: 'reduce' });
  await page.goto(`${stage.address}/bench/session/${session.id}`);
  await looked(page, 'sealed');
  await page.getByRole('link', { name: 'Rehearse this evening' }).click();
  await page.getByRole('heading', { name: 'Rehearse this evening' }).waitFor();

  // What cannot be is said at its field, and nothing is made.
  await page.getByLabel('Simulated people').fill('15');
  await page.getByRole('button', { name: 'Make the rehearsal' }).click();
  await page.getByText('There are 14 seats in this plan.').first().waitFor();
  await page.getByLabel('Simulated people').fill('12');
  await page.getByRole('radio', { name: 'A number' }).check();
  await page.getByLabel('Distance in d′').fill('6');
  await page.getByRole('radio', { name: 'All at once' }).check();
  await page.getByText('Set the size of each attribute by itself').click();
  await page.getByLabel('Sour, in units of its scale').fill('20');
  await looked(page, 'form');
  await page.getByRole('button', { name: 'Make the rehearsal' }).click();

  await says(page).waitFor();
  expect(page.url()).not.toContain(session.id);
  const copy = page.url();
  await page.getByText('Twelve people; arms lie 6.0 apart', { exact: false }).waitFor();
  expect(await page.getByRole('heading', { name: 'Fit to taste?' }).count()).toBe(0);
  await looked(page, 'rehearsal-sealed');
  // What is printed of it says so too.
  await page.getByRole('link', { name: 'Print ballots' }).click();
  await page.locator('article.ballot').first().waitFor({ state: 'attached' });
  expect(await page.locator('article.ballot').first().textContent()).toMatch(
    /Rehearsal:\s*Warm or cool, in June/,
  );
  await says(page).first().waitFor();
  await page.goBack();

  await page.getByRole('button', { name: 'Open tasting' }).click();
  await page.getByRole('button', { name: 'Play the panel' }).click();
  await page.getByText('The simulated people have finished.').waitFor();
  await looked(page, 'rehearsal-played');

  await page.getByRole('button', { name: 'Close tasting…' }).click();
  await page.getByRole('dialog').getByRole('button', { name: 'Close tasting' }).click();
  await page.getByRole('button', { name: 'Reveal…' }).click();
  await page.getByRole('dialog').getByRole('button', { name: 'Reveal' }).click();
  await page.getByRole('link', { name: 'Read the result' }).click();
  const table = page.getByRole('region', { name: 'What was put in, and what was found' });
  await table.waitFor();
  const text = await table.innerText();
  expect(text).toContain('right answers');
  expect(text).toMatch(/sour\s+20\.0 from one arm to the next/);
  await says(page).first().waitFor();
  const key = page.getByRole('button', { name: /skip|close|result/i }).first();
  if (await key.isVisible().catch(() => false)) await key.click();
  await looked(page, 'result');

  // On the page of the trial it stands apart from what was tasted.
  await page.goto(`${stage.address}/bench/trial/${trial.id}`);
  const sessions = page.getByRole('region', { name: 'Sessions' });
  expect(await sessions.getByRole('link').count()).toBe(1);
  await page.getByText('Rehearsals (1): nothing in them was tasted').click();
  await looked(page, 'trial');
  await page.locator('details.rehearsals').getByRole('link', { name: 'Warm or cool, in June' }).click();
  await page.waitForURL(copy);
  await page.getByRole('button', { name: 'Delete the rehearsal' }).click();
  await page.getByRole('dialog').getByRole('button', { name: 'Delete the rehearsal' }).click();
  await page.waitForURL(`${stage.address}/bench/trial/${trial.id}`);
  await page.getByText('Sessions', { exact: true }).first().waitFor();
  expect(await page.getByText('Rehearsals (', { exact: false }).count()).toBe(0);
  expect(stage.errors).toEqual([]);
});

test('people who sit down in a rehearsal are told before they do, and while it is played a host stops it', async () => {
  const plan = await draft(host, trial, { title: 'Stopped in the middle' });
  const page = await stage.signedIn('Host', SIZES.tablet, { reducedMotion: 'reduce' });
  await page.goto(`${stage.address}/bench/session/${plan.id}`);
  await page.getByRole('link', { name: 'Rehearse this evening' }).click();
  await page.getByRole('radio', { name: '30 people a minute' }).check();
  await page.getByRole('button', { name: 'Make the rehearsal' }).click();
  await page.getByRole('button', { name: 'Open tasting' }).click();
  await page.getByRole('button', { name: 'Play the panel' }).click();
  await page.getByText('The simulated people are at it.').waitFor();
  await page.getByRole('button', { name: 'Stop', exact: true }).click();
  await page.getByText('Stopped: whoever was in the middle of it has left.').waitFor();
  await page.getByRole('button', { name: 'Play who has not sat down' }).waitFor();

  const id = page.url().split('/').at(-1) ?? '';
  const { join } = await host.caller.ok<{ join: { token: string } }>('GET', `/api/sessions/${id}`);
  const tablet = await stage.newPage(SIZES.phone);
  await tablet.goto(`${stage.address}/seat#${join.token}`);
  await says(tablet).waitFor();
  await expectFits(tablet, 'seat');
  await stage.picture(tablet, 'seat-phone');
  await expectAccessible(tablet, 'seat');
  expect(stage.errors).toEqual([]);
});
