import { randomUUID } from 'node:crypto';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { Page, ViewportSize } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, invited, type Hosted } from '../support/app.ts';
import { trialInput } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES, WCAG } from '../support/looking.ts';
import { readingOf } from '../support/readings.ts';
import { useStage } from '../support/stage.ts';

// The practitioner's notebook: a pull of four arms with wet hands on a phone, every tap counted, and a file from a
// spreadsheet. All figures are invented.

const { laptop: LAPTOP, tablet: TABLET, phone: PHONE } = SIZES;
const ARMS = ['Cool', 'Middle', 'Warm', 'Wild'];
const DAY_MS = 86_400_000;

let host: Hosted;
let trial: TrialView;
let pulls: TrialPulls;

const stage = useStage('pulls');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  await invited(host, 'steward', 'Cellar');
  const [arm] = trialInput().arms;
  trial = await host.caller.ok('POST', `/api/panels/${host.panel}/trials`, {
    ...trialInput(),
    arms: ARMS.map((name) => ({ ...arm, name, differs: `${name} fermenter` })),
  });
  await host.caller.ok('PUT', `/api/trials/${trial.id}/pitched`, {
    pitchedAt: new Date(Date.now() - 7 * DAY_MS).toISOString(),
  });
  const planned = [
    ['Day 1', 24],
    ['Day 7', 168],
    ['Day 21', 504],
  ] as const;
  pulls = await host.caller.ok<TrialPulls>('POST', `/api/trials/${trial.id}/pulls`, {
    pulls: planned.map(([name, hours]) => ({ id: randomUUID(), name, when: { kind: 'hours', hours } })),
  });
  for (const { id } of trial.arms) {
    const takenAt = new Date(Date.now() - 6 * DAY_MS).toISOString();
    await host.caller.ok(
      'POST',
      `/api/pulls/${pulls.pulls[0]?.id}/arms/${id}/readings`,
      readingOf({ ph: '4,61', gravity: '1,038', takenAt }),
    );
  }
});

const signedIn = (name: string, viewport: ViewportSize): Promise<Page> =>
  stage.signedIn(name, viewport, { hasTouch: true, locale: 'de-DE' });

async function look(page: Page, name: string): Promise<void> {
  await stage.picture(page, name, name !== 'pull-phone');
  await expectAccessible(page, name, WCAG);
  await expectFits(page, name);
}

async function lookEverywhere(page: Page, name: string): Promise<void> {
  for (const [size, viewport] of Object.entries({ phone: PHONE, tablet: TABLET, laptop: LAPTOP })) {
    await page.setViewportSize(viewport);
    await look(page, `${name}-${size}`);
  }
}

const stored = async (name: string) => {
  const now = await host.caller.ok<TrialPulls>('GET', `/api/trials/${trial.id}/pulls`);
  return now.pulls.find((one) => one.name === name)?.readings ?? [];
};

test('four arms, pH and gravity each, are read on a phone in under forty taps, and nothing is lost', async () => {
  const phone = await signedIn('Cellar', PHONE);
  await phone.goto(`${stage.address}/bench/trial/${trial.id}`);
  await phone.getByText('today', { exact: true }).waitFor();
  await lookEverywhere(phone, 'trial');
  await phone.setViewportSize(PHONE);
  let taps = 0;
  const tap = async (name: string): Promise<void> => {
    taps += 1;
    await phone.getByRole('button', { name, exact: true }).tap();
  };
  const digits = async (keys: string): Promise<void> => {
    for (const key of keys) await tap(key);
  };
  taps += 1;
  await phone.getByRole('link', { name: 'Day 7' }).tap();
  await phone.getByLabel('pH of Cool', { exact: true }).and(phone.locator(':focus')).waitFor();
  // Nothing has to be scrolled: every arm and the keys are on the screen.
  for (const arm of ARMS) await expectSeen(phone, `Gravity of ${arm}`);
  await look(phone, 'pull-phone');
  await tap('Today');
  await phone.getByLabel('pH of Cool', { exact: true }).focus();
  for (const keys of ['433', '431', '428']) {
    await digits(keys);
    await tap('next');
  }
  await digits('39');
  // A phone that restarts has what was typed.
  await phone.reload();
  await expect
    .poll(() => phone.getByLabel('pH of Cool', { exact: true }).inputValue(), { timeout: 15_000 })
    .toBe('4,33');
  await phone.getByLabel('pH of Wild', { exact: true }).focus();
  await tap('next');
  for (const keys of ['016', '014', '012']) {
    await digits(keys);
    await tap('next');
  }
  await digits('1009');
  await expect.poll(() => phone.getByLabel('Gravity of Wild', { exact: true }).inputValue()).toBe('1,009');
  // The network is away while it is sent: it is kept, and goes by itself.
  await phone.route('**/readings', (route) => route.abort());
  await tap('Send');
  await phone.getByText('The server does not answer').waitFor();
  expect(await stored('Day 7')).toEqual([]);
  await phone.unroute('**/readings');
  await phone.reload();
  await phone.getByText('Every arm of this pull is read').waitFor();
  // Which of them got through first, while the network came back, does not matter.
  const sent = await stored('Day 7');
  const rows = trial.arms.flatMap(({ id }) => sent.filter(({ arm }) => arm === id));
  expect(rows.map(({ ph, gravity }) => [ph, gravity])).toEqual([
    [4.33, 1.016],
    [4.31, 1.014],
    [4.28, 1.012],
    [3.9, 1.009],
  ]);
  expect(rows.every(({ meterCalibratedOn }) => meterCalibratedOn !== null)).toBe(true);
  console.log(`a pull of four arms took ${taps} taps and key presses`);
  expect(taps).toBeLessThan(40);
  await lookEverywhere(phone, 'pull-read');
  expect(stage.errors).toEqual([]);
});

async function expectSeen(page: Page, label: string): Promise<void> {
  const box = await page.getByLabel(label, { exact: true }).boundingBox();
  const pad = await page.getByRole('group', { name: /^Keys/ }).boundingBox();
  expect((box?.y ?? Infinity) + (box?.height ?? 0), label).toBeLessThanOrEqual(pad?.y ?? 0);
}

test('what seems odd is asked, a correction stands beside what it corrects, a photo loses its place', async () => {
  const bench = await signedIn('Host', PHONE);
  await bench.goto(`${stage.address}/bench/trial/${trial.id}`);
  await bench.getByRole('button', { name: 'Take a pull now' }).tap();
  await bench.waitForURL(/\/pull\/[0-9a-f-]{36}$/);
  await bench.getByLabel('pH of Cool', { exact: true }).fill('43');
  await bench.getByText('Did you mean 4,3?').waitFor();
  await look(bench, 'asked-phone');
  await bench.getByRole('button', { name: 'Yes, pH 4,3' }).tap();
  await bench.getByLabel('Gravity of Cool', { exact: true }).fill('16.5');
  await bench.getByRole('button', { name: 'Yes, 16.5 °P' }).tap();
  // 16.5 Plato after 1.016 rises, and is kept by whoever says so.
  await bench.getByText(/is above the last one/).waitFor();
  await bench.getByRole('button', { name: 'Keep it' }).tap();
  await bench.getByRole('button', { name: 'More of Cool' }).tap();
  await bench.getByLabel('What was added').fill('cherries');
  // Down at the end the keys lie over nothing: what they cover on the way is scrolled to.
  await bench.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
  await look(bench, 'more-phone');
  await bench.getByRole('button', { name: 'Send' }).tap();
  await bench.getByText('What was added: cherries').waitFor();
  await bench.getByRole('button', { name: 'Correct the reading of Cool' }).tap();
  await bench.getByLabel('pH of Cool', { exact: true }).fill('4,2');
  await bench.getByRole('button', { name: 'Keep it' }).tap();
  await bench.getByRole('button', { name: 'Send' }).tap();
  await bench.getByText('How the reading of Cool came to be').tap();
  await bench.getByText(/Corrected by Host/).waitFor();
  const png = await bench.screenshot({ type: 'png' });
  await bench
    .getByLabel('Add a photo of Cool')
    .setInputFiles({ name: 'hat.png', mimeType: 'image/png', buffer: png });
  await bench.getByRole('img', { name: 'Photo 1 of Cool' }).waitFor();
  const width = await bench
    .getByRole('img', { name: 'Photo 1 of Cool' })
    .evaluate((image: HTMLImageElement) => image.decode().then(() => image.naturalWidth));
  expect(width).toBeGreaterThan(100);
  await look(bench, 'corrected-phone');
  await bench.goto(`${stage.address}/bench/trial/${trial.id}/pull`);
  await bench.getByRole('button', { name: 'Plan these pulls' }).tap();
  await bench.getByRole('link', { name: 'Day 14' }).waitFor();
  await lookEverywhere(bench, 'plan');
  await bench.goto(`${stage.address}/bench/panel/${host.panel}`);
  await bench.getByRole('button', { name: 'Draw an address' }).tap();
  await bench.getByRole('textbox', { name: 'Address of the calendar, shown this once' }).waitFor();
  await lookEverywhere(bench, 'calendar');
  expect(stage.errors).toEqual([]);
});

test('a file from a spreadsheet: good rows are added after a preview, bad ones are named by line', async () => {
  const bench = await signedIn('Host', LAPTOP);
  await bench.goto(`${stage.address}/bench/trial/${trial.id}/pull/import`);
  const file = [
    '\ufeffArm;Pull;taken_at;pH;SG;Temp;shelf',
    'Cool;File;1.12.2025 18:30;4,20;1,040;18,5;3',
    ';;;;;;',
    'Warm;File;1.12.2025 18:30;4,1;1,038;22;3',
    'Nobody;File;1.12.2025 18:30;4,1;1,038;22;3',
    '',
    'Wild;File;12/1/2025;4,1;1,038;22;3',
    'Middle;File;1.12.2025 18:30;42;1,039;19;3',
  ].join('\r\n');
  await bench
    .getByLabel('File of readings', { exact: true })
    .setInputFiles({ name: 'cellar.csv', mimeType: 'text/csv', buffer: Buffer.from(file) });
  await bench.getByText('3 rows become readings').waitFor();
  await bench.getByText('left aside: shelf').waitFor();
  await bench.getByRole('row', { name: /^5 refused.*Nobody/ }).waitFor();
  await bench.getByRole('row', { name: /^7 refused.*no date that reads one way only/ }).waitFor();
  await bench.getByRole('row', { name: /^8 added.*Did you mean 4\.2/ }).waitFor();
  await lookEverywhere(bench, 'preview');
  expect(await stored('File')).toEqual([]);
  await bench.getByRole('button', { name: /^Add 3/ }).click();
  await bench.getByText('Line 5:').waitFor();
  await bench.getByText('Line 7:').waitFor();
  await look(bench, 'imported');
  const rows = await stored('File');
  expect(rows.map(({ ph, gravity, temperatureC }) => [ph, gravity, temperatureC])).toEqual([
    [4.2, 1.04, 18.5],
    [4.1, 1.038, 22],
    [42, 1.039, 19],
  ]);
  expect(rows[2]?.confirmed.map(({ question }) => question)).toContain('ph-outside');
  await bench.getByRole('link', { name: 'To the trial' }).click();
  await bench.goto(`${stage.address}/bench/trial/${trial.id}/pull/import`);
  await bench
    .getByLabel('File of readings', { exact: true })
    .setInputFiles({ name: 'cellar.csv', mimeType: 'text/csv', buffer: Buffer.from(file) });
  await bench.getByRole('button', { name: 'Nothing to add' }).waitFor();
  expect(stage.errors).toEqual([]);
});
