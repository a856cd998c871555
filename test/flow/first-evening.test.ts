import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { launchBrowser } from '../support/browser.ts';
import { PASSPHRASE } from '../support/factories.ts';
import { expectAccessible, WCAG } from '../support/looking.ts';
import { Service } from '../support/service.ts';

// From the printed link to a sealed plan, by the pages alone, on the service as `npm start` has it and over the plain
// http address that a tablet would use.

let service: Service;
let browser: Browser;

beforeAll(async () => {
  service = await Service.inNewFolder();
  await service.start();
  browser = await launchBrowser();
});

afterAll(async () => {
  await browser?.close();
  await service?.remove();
});

async function accessible(page: Page, name: string): Promise<void> {
  await expectAccessible(page, name, WCAG);
}

test('a host sets up, invites a steward, records a trial, and seals a plan', async () => {
  const bench = await (await browser.newContext({ viewport: { width: 1180, height: 820 } })).newPage();
  const token = await service.firstHostToken();
  await bench.goto(`${service.address}/bench/welcome#${token}`);
  await bench.getByLabel('Panel', { exact: true }).fill('Cellar Four');
  await bench.getByLabel('Your name').fill('Ada');
  await bench.getByLabel('Passphrase', { exact: true }).fill('short');
  await bench.getByRole('button', { name: 'Open the bench' }).click();
  // A problem is said at its field, and the link is not used up.
  await expect.poll(() => bench.locator('form').innerText()).toMatch(/at least 12 characters/);
  expect(bench.url()).not.toContain(token);
  await accessible(bench, 'welcome');
  await bench.getByLabel('Passphrase', { exact: true }).fill(PASSPHRASE);
  await bench.getByRole('button', { name: 'Open the bench' }).click();
  await bench
    .getByRole('heading', { name: 'Cellar Four' })
    .or(bench.getByRole('link', { name: 'Cellar Four' }))
    .first()
    .waitFor();
  if (!bench.url().includes('/panel/'))
    await bench.getByRole('link', { name: 'Cellar Four' }).first().click();
  await bench.waitForURL(/\/bench\/panel\//);
  await accessible(bench, 'panel');

  // The invitation's link is shown once and makes a steward on another device.
  await bench.getByRole('button', { name: 'Invite a steward' }).click();
  const link = await bench.getByRole('textbox', { name: 'Link for a steward' }).inputValue();
  const cellar = await (await browser.newContext({ viewport: { width: 390, height: 844 } })).newPage();
  await cellar.goto(link);
  await cellar.getByLabel('Your name').fill('Ben');
  await cellar.getByLabel('Passphrase', { exact: true }).fill(PASSPHRASE);
  await cellar.getByRole('button', { name: 'Take the invitation' }).click();
  await expect.poll(() => cellar.locator('body').innerText()).toContain('Cellar Four');
  await bench.getByRole('dialog').getByRole('button', { name: 'Done' }).click();

  // A trial with two arms.
  const panel = bench.url();
  await bench.goto(`${panel}/trial`);
  await bench.getByLabel('Name of the trial').fill('Open or closed');
  await bench.getByLabel('Question').fill('Does an open vessel taste different?');
  await bench.getByLabel('Factor').fill('vessel');
  for (const [index, name] of ['Openvat', 'Closedvat'].entries()) {
    const arm = bench.getByRole('group', { name: `Arm ${index + 1}` });
    await arm.getByLabel('Name').fill(name);
    await arm.getByLabel('What differs').fill(`fermented in the ${name}`);
    await arm.getByLabel('Volume left, mL').fill('900');
    await arm.getByLabel('Alcohol, % by volume').fill('5');
    await arm.getByLabel('cereals with gluten').check();
  }
  await accessible(bench, 'new trial');
  await bench.locator('form button.do').click();
  await bench.getByRole('heading', { name: 'Open or closed' }).waitFor();

  // The planner answers while one types; too thirsty a plan is said and not sealed.
  await bench.getByRole('link', { name: 'Plan a tasting' }).first().click();
  await bench.waitForURL(/\/session$/);
  await bench.getByRole('button', { name: 'Triangle', exact: true }).click();
  await bench.getByLabel('Title').fill('Vessel evening');
  await bench.getByLabel('Assessors expected').fill('24');
  await expect.poll(() => bench.locator('body').innerText()).toMatch(/13 of 24/);
  await expect.poll(() => bench.locator('body').innerText()).toMatch(/1\D?440/);
  await bench.getByLabel('Assessors expected').fill('12');
  await bench.getByLabel('Per cup, mL').fill('30');
  await expect.poll(() => bench.locator('body').innerText()).toMatch(/8 of 12/);
  await bench.getByRole('button', { name: 'Keep as a draft' }).click();
  await bench.waitForURL(/\/bench\/session\//);
  await bench.getByRole('button', { name: 'Seal the plan' }).click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Seal the plan' }).click();
  await bench.getByRole('heading', { name: 'The seal' }).waitFor();
  await accessible(bench, 'sealed');

  // The key is closed to the host and open to the steward.
  const session = new URL(bench.url()).pathname;
  await bench.goto(`${service.address}${session}/pour`);
  expect(await bench.locator('main').innerText()).not.toMatch(/Openvat|Closedvat/);
  await cellar.goto(`${service.address}${session}/pour`);
  await expect.poll(() => cellar.locator('body').innerText()).toMatch(/Openvat[\s\S]*Closedvat/);
  await accessible(cellar, 'pour');
  await cellar.goto(`${service.address}${session}/pour/labels`);
  await accessible(cellar, 'labels');

  // Signed out means out.
  await bench.goto(`${service.address}/bench`);
  await bench.getByRole('button', { name: 'Sign out' }).click();
  await bench.waitForURL(/sign-in/);
  await bench.goto(`${service.address}${session}`);
  await bench.waitForURL(/sign-in/);
});
