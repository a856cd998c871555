import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, newTrial, type Hosted } from '../support/app.ts';
import { trialInput } from '../support/factories.ts';
import { expectAccessible, expectFits } from '../support/looking.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// A host with eight people and two litres of each arm, who chose a triangle, is led to a plan that finds what matters with a
// chance of 80 %, or is told that there is none and what it would take.

let host: Hosted;

const stage = useStage('planner');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
});

async function planOf(trial: TrialView, viewport: { width: number; height: number }): Promise<Page> {
  const bench = await (await stage.browser.newContext({ viewport })).newPage();
  await signIn(bench, stage.address, 'Host');
  await bench.goto(`${stage.address}/bench/trial/${trial.id}/session`);
  return bench;
}

const litres = (volumeMl: number) => ({
  ...trialInput(),
  arms: trialInput().arms.map((arm) => ({ ...arm, volumeMl })),
});

test('eight people and two litres of each arm are led to a plan of 80 %', async () => {
  const trial = await newTrial(host, litres(2000));
  const bench = await planOf(trial, { width: 1440, height: 900 });
  await bench.getByRole('button', { name: 'Triangle', exact: true }).click();
  await bench.getByLabel('Title').fill('Which test');
  await bench.getByLabel('Assessors expected').fill('8');
  await bench.getByLabel('Spare seats').fill('0');
  const planner = bench.getByRole('region', { name: 'What this plan can tell' });
  await expect.poll(() => planner.innerText()).toMatch(/The chance of 15 % is below the 80 %/);
  // Only with the direction known: that is said with it.
  await expect
    .poll(() => planner.getByRole('region', { name: 'Which test' }).innerText())
    .toMatch(/Eight people find a difference of this size with a chance of 80 % or more/);
  await planner.getByText('All tests with these people and this liquid').click();
  await stage.picture(bench, 'laptop');
  await expectAccessible(bench, 'planner');

  const use = planner.getByRole('button', { name: /^Use / }).first();
  const offered = (await use.innerText()).replace('Use ', '');
  await use.click();
  await expect
    .poll(async () => (await bench.locator('[data-part-heading]').innerText()).toLowerCase())
    .toContain((offered.split(',')[0] ?? '').toLowerCase());
  await expect.poll(() => planner.innerText()).not.toMatch(/below the 80 %/);
  const chance = await planner.locator('dd').nth(1).innerText();
  expect(Number.parseInt(chance, 10)).toBeGreaterThanOrEqual(80);
  await bench.getByRole('button', { name: 'Keep as a draft' }).click();
  await bench.waitForURL(/\/bench\/session\//);
});

test('a tap on a slow line, before the page runs, is not lost', async () => {
  const trial = await newTrial(host, litres(2000));
  const bench = await planOf(trial, { width: 390, height: 844 });
  let go: () => void = () => undefined;
  const waits = new Promise<void>((resolve) => (go = resolve));
  await bench.route(/\/_app\/.*\.js$/, async (route) => {
    await waits;
    await route.continue();
  });
  await bench.reload({ waitUntil: 'domcontentloaded' });
  await bench.getByRole('button', { name: 'Triangle', exact: true }).click();
  expect(await bench.locator('[data-part-heading]').count()).toBe(0);
  go();
  await bench.locator('[data-part-heading]').waitFor();
  expect(await bench.locator('[data-part-heading]').count()).toBe(1);
  await bench.context().close();
});

test('where nothing reaches it that is said, with what would, also on a phone', async () => {
  const trial = await newTrial(host, litres(150));
  const bench = await planOf(trial, { width: 390, height: 844 });
  await bench.getByRole('button', { name: 'Triangle', exact: true }).click();
  await bench.getByLabel('Assessors expected').fill('8');
  await bench.getByLabel('Spare seats').fill('0');
  await bench.getByLabel('small, d′ 1').check();
  const which = bench.getByRole('region', { name: 'Which test' });
  await expect
    .poll(() => which.innerText())
    .toMatch(/No test finds a difference of this size with a chance of 80 % .* What would: .* people/);
  expect(await which.getByRole('button', { name: /^Use / }).count()).toBe(0);
  await which.getByText('All tests with these people and this liquid').click();
  await which.scrollIntoViewIfNeeded();
  await stage.picture(bench, 'phone', false);
  // The table scrolls by itself, the page does not.
  await expectFits(bench, 'planner');
  await expectAccessible(bench, 'planner');

  // Likeness has its own risks, and no comparison of tests for a difference.
  await bench.getByLabel('Are they alike enough?').check();
  await expect.poll(() => bench.getByLabel('Beta').inputValue()).toBe('0.05');
  expect(await bench.getByLabel('Alpha').inputValue()).toBe('0.2');
  expect(await bench.getByLabel('Share that would matter').inputValue()).toBe('0.3');
  expect(await which.count()).toBe(0);
  await bench.getByLabel('Beta').fill('0.2');
  await expect
    .poll(() => bench.locator('body').innerText())
    .toMatch(/For likeness beta is the risk of claiming it wrongly: 0\.1 or less/);
});
