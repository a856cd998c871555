import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, newTrial, type Hosted } from '../support/app.ts';
import { expectAccessible, expectFits } from '../support/looking.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// A host tells how the arms were made, with a comma as decimal mark, copies one, is shown what stands between them, answers
// it, and counts the liquid; what was written over stays.

let host: Hosted;

const stage = useStage('trial-record');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
});

async function clean(page: Page, what: string): Promise<void> {
  await stage.picture(page, what);
  await expectAccessible(page, what);
  await expectFits(page, what);
}

test('a record is told, compared, answered and corrected on its page', async () => {
  const trial = await newTrial(host);
  const [one, two] = trial.arms.map(({ name }) => name) as [string, string];
  const page = await (await stage.browser.newContext({ viewport: { width: 390, height: 844 } })).newPage();
  await signIn(page, stage.address, 'Host');
  await page.goto(`${stage.address}/bench/trial/${trial.id}`);
  await page.getByText('Nothing is noted yet of how the arms were made').waitFor();
  await clean(page, 'empty');

  await page.getByRole('button', { name: `Change ${one}` }).click();
  await page.getByLabel('Temperature while it fermented').fill('eighteen');
  await page.getByRole('button', { name: 'Save the arm' }).click();
  await page.getByText('Give degrees Celsius, or leave it unknown.').waitFor();
  await page.getByLabel('Temperature while it fermented').fill('18,5');
  await page.getByLabel('Closure', { exact: true }).selectOption('airlock');
  await page.getByLabel('Amount pitched', { exact: true }).fill('1,500');
  await page.getByText('Read as 1.5. If you mean 1500, type it without a mark.').waitFor();
  await clean(page, 'arm form');
  await page.getByRole('button', { name: 'Save the arm' }).click();
  const table = page.getByRole('region', { name: 'How the arms were made' });
  await expect.poll(() => table.innerText()).toMatch(/18\.5 °C/);

  await page.getByRole('button', { name: `Copy and change one thing of ${one}` }).click();
  const copy = page.getByRole('form', { name: `Copy of ${one}` });
  await copy.getByLabel('Name', { exact: true }).fill('Open jar');
  await copy.getByLabel('What differs').fill('stood open');
  await copy.getByLabel('Volume left, mL').fill('1250,5');
  await copy.getByLabel('Closure', { exact: true }).selectOption('open');
  await copy.getByRole('button', { name: 'Add the arm' }).click();
  await expect.poll(() => table.innerText()).toMatch(/closure.*differs/);
  await page.getByText('1 250.5 mL', { exact: true }).first().waitFor();

  const fair = page.getByRole('region', { name: 'Is it a fair test?' });
  await fair.getByRole('button', { name: /^Answer it: Closure differs besides the factor/ }).click();
  await fair.getByLabel('What it means for the comparison').fill('It is what the third arm is for.');
  await fair.getByRole('button', { name: 'Answer', exact: true }).click();
  await fair.getByText('It is what the third arm is for.').waitFor();

  await page.getByRole('button', { name: `Note a deviation of ${two}` }).click();
  await page.getByLabel('What went otherwise').fill('Smelled of paper on opening.');
  await page.getByLabel('A sign of something').selectOption('stale');
  await page.getByRole('button', { name: 'Note the deviation' }).click();
  await fair.getByText(`${two}: stale, like paper or cardboard`).waitFor();

  await page.getByText('What became of it').first().click();
  const arm = page.getByRole('article', { name: one });
  await arm.getByLabel('mL', { exact: true }).fill('700');
  await arm.getByRole('button', { name: `Note it for ${one}` }).click();
  await arm.getByText('700 mL', { exact: true }).first().waitFor();

  await page.getByRole('button', { name: 'Correct the trial' }).click();
  await page.getByLabel('Question', { exact: true }).fill('Which of the three goes on?');
  await page.getByLabel('Original gravity').fill('1,048');
  await page.getByRole('checkbox', { name: 'closure' }).check();
  await clean(page, 'trial form');
  await page.getByRole('button', { name: 'Save the trial' }).click();
  await page.getByText('original gravity 1.048').waitFor();
  await page.getByText(/^Corrections: \d+, the newest first$/).click();
  await page.getByText(`“${trial.question}” became “Which of the three goes on?”`).waitFor();
  await expect.poll(() => fair.innerText()).not.toMatch(/Closure differs/);
  await clean(page, 'phone');
  await page.setViewportSize({ width: 1440, height: 900 });
  await clean(page, 'laptop');
});
