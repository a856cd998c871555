import type { Locator, Page, ViewportSize } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, invited, newTrial, type Hosted } from '../support/app.ts';
import { expectAccessible, expectFits, onScreens, SIZES, WCAG } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// A host chooses a spike from a reference cup and types another by hand, one steward measures, another confirms, and
// whoever sits down reads of allergens without hearing of a cup.

const { laptop: LAPTOP, phone: PHONE } = SIZES;
let host: Hosted;

const stage = useStage('spikes');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  await invited(host, 'steward', 'Stella');
  await invited(host, 'steward', 'Sigrid');
});

const signedIn = (name: string, viewport: ViewportSize = LAPTOP): Promise<Page> =>
  stage.signedIn(name, viewport);

/** In both widths: nothing reaches beyond the page, and axe finds nothing. */
const look = (page: Page, name: string): Promise<void> =>
  onScreens(page, [LAPTOP, PHONE], async (width) => {
    await stage.picture(page, `${name}-${width}`);
    await expectFits(page, `${name} at ${width}`);
    await expectAccessible(page, name, WCAG);
  });

const mainOf = (page: Page): Locator => page.locator('main');
/** Waits until it says so. */
const says = (where: Locator, words: RegExp) =>
  expect.poll(() => where.innerText(), { timeout: 20_000 }).toMatch(words);

async function chooseCup(bench: Page, sample: string): Promise<void> {
  await bench.getByRole('button', { name: 'Add a spiked reference' }).click();
  const find = bench.getByLabel(`Find a reference cup for ${sample}`);
  const found = bench.getByRole('list', { name: 'Reference cups found' });
  await find.fill('zqxwvzqxwv');
  await says(mainOf(bench), /No cup like that can be poured/);
  await find.fill('hazelnut');
  await says(found, /nuts/);
  await look(bench, 'plan-finding');
  await bench.getByLabel('Or look through a family').selectOption('Touch, gas and warmth');
  await found.getByRole('button', { name: /^warming alcohol/ }).click();
  // 30 mL of 40 % in 470 mL of 4.1 %: 6.25 %.
  await says(mainOf(bench), /up to 40 % alcohol: the cup then holds at most 6\.3 %/);
  await bench.getByRole('button', { name: `Choose another cup for ${sample}` }).click();
  await find.fill('hazelnut');
  await found.getByRole('button', { name: /^nuts/ }).click();
  await says(mainOf(bench), /What is added holds no alcohol\. It brings in: nuts\./);
}

/** By hand nothing is taken for none, and nothing that is never added is taken. */
async function typeSpike(bench: Page, sample: string): Promise<void> {
  await bench.getByRole('button', { name: 'Add a spiked reference' }).click();
  await bench
    .getByRole('radiogroup', { name: `What is added to ${sample}` })
    .getByLabel('By hand')
    .check();
  const what = bench.getByLabel(`What is added to ${sample}, and how much`);
  await what.fill('acetone, 1 drop');
  await says(mainOf(bench), /Never add nail varnish remover to a cup/);
  await what.fill('lactic acid 80 %, 1 mL per litre');
  await bench.getByLabel('Amount').fill('1');
  await bench.getByLabel('Into how many mL of the arm').fill('1000');
  await bench.getByRole('button', { name: 'Keep as a draft' }).click();
  await says(mainOf(bench), /Say how much alcohol the cup holds then/);
  await says(mainOf(bench), /Name its allergens, or say that it holds none/);
  await look(bench, 'plan-untold');
  const alcohol = bench.getByRole('radiogroup', { name: `Alcohol of what is added to ${sample}` });
  await alcohol.getByLabel('it adds none').check();
  const allergens = bench.getByRole('radiogroup', { name: `Allergens of what is added to ${sample}` });
  await allergens.getByLabel('nobody knows').check();
}

async function plan(bench: Page): Promise<void> {
  await bench.getByRole('button', { name: 'Liking', exact: true }).click();
  await bench.getByLabel('Title').fill('Spiked evening');
  await bench.getByLabel('Assessors expected').fill('3');
  await bench.getByLabel('Spare seats').fill('0');
  await chooseCup(bench, 'sample 3');
  const planner = bench.getByRole('region', { name: 'What this plan can tell' });
  await says(planner, /Allergens declared: .*nuts/);
  await typeSpike(bench, 'sample 4');
  await says(planner, /unknown for something that is added/);
  await look(bench, 'plan');
  await bench.getByRole('button', { name: 'Keep as a draft' }).click();
  await bench.waitForURL(/\/bench\/session\//);
}

/** A bottle of the pour list. */
const bottle = (page: Page, added: string): Locator => page.locator('section').filter({ hasText: added });
const nuts = (page: Page): Locator => bottle(page, 'nuts: 15 g per 500 mL');
const acid = (page: Page): Locator => bottle(page, 'lactic acid 80 %');

async function measure(of: Locator, amount: string, volumeMl: string): Promise<void> {
  await of.getByLabel(/^Measured/).fill(amount);
  await of.getByLabel('Makes, mL in all').fill(volumeMl);
  await of.getByRole('button', { name: 'Note what I measured' }).click();
  await says(of, /Measured by you/);
}

/** One measures; the cups open only when the other has looked, and the first page hears of it by itself. */
async function pourWithASecond(stella: Page, sigrid: Page): Promise<void> {
  // Three cups of 40 mL of each spiked bottle.
  await says(nuts(stella), /For 120 mL\s+(?:1\.\s+)?3\.6 g for 120 mL of Coolvessel\./);
  await says(nuts(stella), /Steep roasted chopped hazelnuts/);
  await says(nuts(stella), /Allergens: .*nuts/);
  // 0.12 mL cannot be measured: a tenfold dilution first.
  await says(acid(stella), /stir 1 mL of it into 9 mL of Coolvessel first/);
  await says(acid(stella), /is unknown: assessors are told so/);
  for (const cup of await nuts(stella).getByRole('checkbox').all()) expect(await cup.isDisabled()).toBe(true);
  expect(
    await nuts(stella)
      .getByRole('button', { name: /^Mark all as poured/ })
      .isDisabled(),
  ).toBe(true);
  await nuts(stella).getByRole('button', { name: 'Note what I measured' }).click();
  await says(nuts(stella), /Say what was measured\./);
  await look(stella, 'pour');
  await measure(nuts(stella), '3.6 g', '120');
  await says(nuts(stella), /Sigrid has the key too/);
  expect(await nuts(stella).getByRole('button', { name: 'I checked this dilution' }).count()).toBe(0);
  await look(stella, 'pour-waiting');

  await sigrid.reload();
  await says(nuts(sigrid), /Measured by Stella: 3\.6 g, in 120 mL\./);
  await look(sigrid, 'pour-second');
  await nuts(sigrid).getByRole('button', { name: 'I checked this dilution' }).click();
  await says(nuts(sigrid), /Checked by Sigrid\./);
  await says(nuts(stella), /Checked by Sigrid\./);
  await nuts(stella).getByRole('checkbox').first().check({ force: true });
  await says(nuts(stella), /1 of 3 poured/);
}

test('a spike is chosen, measured by one, confirmed by another and poured', async () => {
  const trial = await newTrial(host);
  const bench = await signedIn('Host');
  await bench.goto(`${stage.address}/bench/trial/${trial.id}/session`);
  await plan(bench);
  const session = bench.url();
  await bench.getByRole('button', { name: 'Seal the plan' }).click();
  await bench.getByRole('dialog').getByRole('button', { name: 'Seal the plan' }).click();
  await bench.getByRole('heading', { name: 'The seal' }).waitFor();

  const stella = await signedIn('Stella', PHONE);
  const sigrid = await signedIn('Sigrid');
  for (const page of [stella, sigrid]) await page.goto(`${session}/pour`);
  await pourWithASecond(stella, sigrid);
  // Nobody to check the other: said, and told.
  await measure(acid(stella), '1.3 mL of 1 in 10', '130');
  await acid(stella).getByText('None of them is here').click();
  await acid(stella).getByRole('button', { name: 'Nobody else is here: go on alone' }).click();
  await says(acid(stella), /Not checked: .* The result will say so\./);
  await acid(stella)
    .getByRole('button', { name: /^Mark all as poured/ })
    .click();
  await says(acid(stella), /3 of 3 poured/);
  await look(stella, 'pour-done');

  // The door: allergens together, unknown as unknown, and not a word of a spike.
  await bench.getByRole('button', { name: 'Open tasting' }).click();
  await bench.getByRole('button', { name: 'Close tasting…' }).waitFor();
  const code = /[A-Z0-9]{4}·[A-Z0-9]{4}(?!·)/.exec(await bench.locator('body').innerText())?.[0] ?? '';
  const tablet = await (await stage.browser.newContext({ viewport: PHONE, hasTouch: true })).newPage();
  await tablet.goto(`${stage.address}/seat`);
  await tablet.getByLabel('Code of the tasting').fill(code);
  await tablet.getByRole('button', { name: 'Show the free seats' }).click();
  await tablet.getByRole('radio', { name: '1', exact: true }).check({ force: true });
  await tablet.getByRole('button', { name: 'Take seat 1', exact: true }).click();
  await tablet.getByRole('button', { name: 'I have read this and take part' }).waitFor();
  const cautions = await tablet.locator('body').innerText();
  expect(cautions).toMatch(/On the table: cereals with gluten, nuts,? and sulphites/);
  expect(cautions).toMatch(/Unknown for something on the table/);
  expect(cautions).not.toMatch(/spike|hazelnut|lactic/i);
  await look(tablet, 'seat');
  expect(stage.errors).toEqual([]);
});
