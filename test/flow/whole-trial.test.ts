import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { draft, firstHost, invited, type Hosted } from '../support/app.ts';
import { foundFit, PASSPHRASE } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES, WCAG } from '../support/looking.ts';
import { playTablets, type Palate } from '../support/simulated-panel.ts';
import { difference, fruitOf, likingOf, palateOf } from '../support/trial-palates.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// A trial from the first note to the publication, over five months that pass on the clock of the service and of the
// browsers alike. What a host does is clicked; what twelve people answer is sent as their tablets send it. All of it is
// invented.

const ARMS = [
  ['Cool', '14'],
  ['Middle', '18'],
  ['Warm', '22'],
] as const;
/** What the arms are like after a month, and later on. */
const EARLY = {
  Cool: { fruit: 30, liking: 5 },
  Middle: { fruit: 32, liking: 6 },
  Warm: { fruit: 40, liking: 6 },
};
const LATE = {
  Cool: { fruit: 25, liking: 5 },
  Middle: { fruit: 40, liking: 6 },
  Warm: { fruit: 62, liking: 7 },
};
const PITCHED = '2031-03-04T09:00:00Z';
const DAY_MS = 86_400_000;

let context: BrowserContext;
let host: Hosted;
let page: Page;
let trial: TrialView;

const stage = useStage('whole-trial', { clock: 'moved' });
beforeAll(async () => {
  stage.server.clock.now = new Date(PITCHED);
  host = await firstHost(stage.server.app);
  await invited(host, 'steward', 'Cellar');
  context = await stage.browser.newContext({
    viewport: SIZES.phone,
    hasTouch: true,
    reducedMotion: 'reduce',
  });
  await context.clock.install({ time: PITCHED });
  page = await context.newPage();
  page.on('pageerror', (error) => stage.errors.push(error.message));
});

/** The same moment everywhere, `days` after the arms were pitched; sign-ins have run out by then, as they do. */
async function day(days: number): Promise<void> {
  stage.server.clock.now = new Date(Date.parse(PITCHED) + days * DAY_MS);
  await context.clock.setSystemTime(stage.server.clock.now);
  await context.clearCookies();
  await signIn(page, stage.address, 'Host');
  host.caller.cookie = undefined;
  await host.caller.ok('POST', '/api/sign-in', { name: 'Host', passphrase: PASSPHRASE });
  if (trial) await page.goto(`${stage.address}/bench/trial/${trial.id}`);
}

async function look(name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await page.setViewportSize(viewport);
    await stage.picture(page, `${name}-${size}`);
    await expectFits(page, `${name} is wider than the ${size}`);
  }
  await expectAccessible(page, name, WCAG);
  await page.setViewportSize(SIZES.phone);
}

/** Pages of A4 that a sheet of paper would take. */
async function printed(name: string): Promise<number> {
  const pdf = await page.pdf({ format: 'A4', path: `${stage.shots}/${name}.pdf` });
  return pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)?.length ?? 0;
}

const main = (): Promise<string> => page.locator('main').innerText();
const trialPage = (): string => `${stage.address}/bench/trial/${trial.id}`;

test('day 0: the trial, how its arms are made, time zero and the pulls', async () => {
  await day(0);
  await page.goto(`${stage.address}/bench/panel/${host.panel}/trial`);
  await page.getByLabel('Name of the trial').fill('How warm');
  await page.getByLabel('Question').fill('At which temperature does the next whole batch ferment?');
  await page.getByLabel('Factor').fill('temperature');
  await page.getByRole('button', { name: 'Add an arm' }).click();
  for (const [index, [name, degrees]] of ARMS.entries()) {
    const arm = page.getByRole('group', { name: `Arm ${index + 1}` });
    await arm.getByLabel('Name').fill(name);
    await arm.getByLabel('What differs').fill(`held at ${degrees} °C`);
    await arm.getByLabel('Volume left, mL').fill('9000');
    await arm.getByLabel('Alcohol, % by volume').fill('4,6');
    await arm.getByLabel('cereals with gluten').check();
  }
  await page.locator('form button.do').click();
  await page.waitForURL(/\/bench\/trial\/[0-9a-f-]{36}/);
  await page.getByText('Nothing is noted yet of how the arms were made').waitFor();
  trial = await host.caller.ok('GET', `/api/trials/${/trial\/([0-9a-f-]{36})/.exec(page.url())![1]}`);

  for (const [name, degrees] of ARMS) {
    await page.getByRole('button', { name: `Change ${name}` }).click();
    await page.getByLabel('Temperature while it fermented').fill(degrees);
    await page.getByLabel('Closure', { exact: true }).selectOption('airlock');
    await page.getByLabel('Culture', { exact: true }).fill('house yeast');
    await page.getByRole('checkbox', { name: 'yeast', exact: true }).check();
    await page.getByLabel('Amount pitched', { exact: true }).fill(name === 'Warm' ? '12' : '10');
    await page.getByRole('button', { name: 'Save the arm' }).click();
    await page.getByRole('button', { name: `Change ${name}` }).waitFor();
  }
  const fair = page.getByRole('region', { name: 'Is it a fair test?' });
  // More was pitched into one arm: not the factor, and found.
  await fair.getByText(/Amount pitched differs besides the factor/).waitFor();
  expect(await fair.innerText()).not.toContain('Temperature differs');
  await look('made');

  await page.getByRole('link', { name: 'Plan pulls' }).click();
  await page.getByRole('button', { name: 'Note it' }).click();
  for (const [name, days] of [
    ['First day', '1'],
    ['Week one', '7'],
    ['Month one', '30'],
    ['Month five', '150'],
  ] as const) {
    await page.getByLabel('Name', { exact: true }).fill(name);
    await page.getByLabel('Days after pitching').fill(days);
    await page.getByRole('button', { name: 'Plan it' }).click();
    await page.getByRole('link', { name }).waitFor();
  }
  await look('planned');
});

/** Types a pull's readings, in the order of the arms. */
async function read(
  pull: string,
  values: readonly (readonly [ph: string, gravity: string])[],
): Promise<void> {
  await page.getByRole('link', { name: pull }).click();
  await page.getByLabel(`pH of ${ARMS[0]![0]}`, { exact: true }).waitFor();
  for (const [index, [ph, gravity]] of values.entries()) {
    await page.getByLabel(`pH of ${ARMS[index]![0]}`, { exact: true }).fill(ph);
    await page.getByLabel(`Gravity of ${ARMS[index]![0]}`, { exact: true }).fill(gravity);
  }
}

test('day 1: readings with slips of the finger are asked, kept or mended, and corrected later', async () => {
  await day(1);
  await page.getByText('today', { exact: true }).waitFor();
  await read('First day', [
    ['48', '1,040'],
    ['4,7', '16.5'],
    ['4,6', '1,036'],
  ]);
  await page.getByRole('button', { name: 'Yes, pH 4.8' }).click();
  await page.getByRole('button', { name: 'Yes, 16.5 °P' }).click();
  await look('asked');
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('Every arm of this pull is read').waitFor();
  // The second arm was read off the wrong scale.
  await page.getByRole('button', { name: 'Correct the reading of Middle' }).click();
  await page.getByLabel('Gravity of Middle', { exact: true }).fill('1,038');
  await page.getByRole('button', { name: 'Yes, SG 1,038' }).click();
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('How the reading of Middle came to be').waitFor();
});

test('day 7: the readings go on, and a film on one arm is a sign that it may hold something else', async () => {
  await day(7);
  await read('Week one', [
    ['4,4', '1,016'],
    ['4,3', '1,012'],
    ['4,2', '1,010'],
  ]);
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('Every arm of this pull is read').waitFor();
  await page.goto(trialPage());
  await page.getByRole('button', { name: 'Note a deviation of Warm' }).click();
  await page.getByLabel('What went otherwise').fill('A thin white film where the airlock had run dry.');
  await page.getByLabel('A sign of something').selectOption('film');
  await page.getByRole('button', { name: 'Note the deviation' }).click();
  const fair = page.getByRole('region', { name: 'Is it a fair test?' });
  await fair.getByText(/Warm: a film or skin on top/).waitFor();
  expect(await fair.innerText()).toContain('May undo the factor.');
  await fair.getByRole('button', { name: /^Answer it: Amount pitched differs/ }).click();
  await fair.getByLabel('What it means for the comparison').fill('A slip of the scale; a fifth more yeast.');
  await fair.getByRole('button', { name: 'Answer', exact: true }).click();
  await fair.getByText('A slip of the scale; a fifth more yeast.').waitFor();
  await look('fair-test');
});

/** Seals, opens, closes and reveals by clicks; the tablets answer in between. */
async function evening(title: string, parts: Part[], palate: Palate): Promise<void> {
  await foundFit(
    (method, at, body) => host.caller.ok(method, at, body),
    trial,
    stage.server.clock.now.toISOString(),
  );
  const planned = await draft(host, trial, { title, assessors: 12, spareSeats: 0, parts });
  const at = `${stage.address}/bench/session/${planned.id}`;
  const dialog = page.getByRole('dialog');
  await page.goto(at);
  await page.getByRole('button', { name: 'Seal the plan' }).click();
  await dialog.getByRole('button', { name: 'Seal the plan' }).click();
  await page.getByRole('button', { name: /^Open/ }).click();
  await page.getByRole('button', { name: 'Close tasting…' }).waitFor();
  await playTablets(stage.server, await host.caller.ok('GET', `/api/sessions/${planned.id}`), palate, 12);
  await page.getByRole('button', { name: 'Close tasting…' }).click();
  await dialog.getByRole('button', { name: 'Close tasting' }).click();
  await page.getByRole('button', { name: 'Reveal…' }).click();
  await dialog.getByRole('button', { name: 'Reveal' }).click();
  await page.getByRole('link', { name: 'Read the result' }).click();
  await page.waitForURL(/\/result$/);
  await page.getByText('Amount pitched differs').first().waitFor();
}

const FILM = 'Warm may carry something that was not pitched (a film or skin on top)';

test('day 30: five of twelve find the odd cup; what the film means is said before what was found', async () => {
  await day(30);
  await read('Month one', [
    ['4,3', '1,011'],
    ['4,2', '1,009'],
    ['4,1', '1,007'],
  ]);
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('Every arm of this pull is read').waitFor();
  await evening('Month one', difference(trial), palateOf(trial, EARLY, 5));
  const said = await main();
  expect(said).toContain(
    `${FILM}: what people tasted may not be the factor. Five of twelve found the odd one`,
  );
  // The caveats stand on the page with the host's answer, and what nobody told.
  expect(said).toContain('Cool 10 mL and Warm 12 mL. The host: A slip of the scale; a fifth more yeast.');
  expect(said).toContain('Not told for every arm: vessel and cells pitched.');
  await look('difference');
  await page.goto(`${trialPage()}/story`);
  const told = await main();
  expect(told).toContain('whether anything changes over time cannot be said yet');
  // A next session is named with its size; that the liquid is there was reckoned with.
  expect(told).toMatch(/Cool and Warm: a \S+ with \d+ people.* finds a difference of d-prime/);
  expect(told).toContain('Not in a revealed session yet: Middle.');
});

test('day 60: fruit is rated; day 150: liking, and the difference again', async () => {
  await day(60);
  await evening('Month two', fruitOf(trial), palateOf(trial, LATE, 0));
  expect(await main()).toMatch(/The samples differ in ‘fruit’/);
  await look('fruit');
  // Limits as wide as they can be: what they are here depends on chance.
  await page.locator('.ends').evaluateAll((all) => {
    for (const one of all) one.textContent = '−0.88 to −0.88';
  });
  await expectFits(page, 'fruit, with wide limits');
  await day(150);
  // Late by nothing: due today.
  await read('Month five', [
    ['4,3', '1,010'],
    ['4,1', '1,008'],
    ['4,0', '1,004'],
  ]);
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('Every arm of this pull is read').waitFor();
  await evening('Month five, liking', likingOf(trial), palateOf(trial, LATE, 0));
  expect(await main()).toMatch(/did not like the samples equally well/);
  await look('liking');
  await evening('Month five, difference', difference(trial), palateOf(trial, LATE, 11));
  expect(await main()).toContain('Eleven of twelve found the odd one');
});

test('the story: one axis of time, what it does not show, what would settle more; on paper too', async () => {
  await page.goto(`${trialPage()}/story`);
  const told = await main();
  expect(told).toMatch(
    /The difference was (not )?equally large in these two sessions|no (change|difference between)/i,
  );
  for (const arm of ['Cool', 'Middle', 'Warm'])
    expect(await page.getByRole('article', { name: arm }).innerText()).toMatch(/on nine points.*12 people/);
  expect(told).toContain('2031-03-11 Warm: A thin white film where the airlock had run dry.');
  expect(told).toContain('Which arm is better is not shown by any number here');
  expect(told).toContain('Each arm is one vessel, or few');
  const settle = told.slice(told.indexOf('What would settle more'));
  expect(settle).toMatch(/\d+ people/);
  // What was mistyped on the first day is nowhere: 1.068 would be the wort of another day.
  expect(await page.locator('main').innerHTML()).not.toMatch(/1\.06\d/);
  await look('story');
  expect(await printed('story')).toBeLessThanOrEqual(6);
  await page.goto(trialPage());
  await page.getByText('Eleven of twelve found the odd one').first().waitFor();
  await look('trial');
  expect(stage.errors).toEqual([]);
});
