import { spawnSync } from 'node:child_process';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { unzipPackage } from '@oddglass/shared/publication/package.ts';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  objections,
  pythonWithPandas,
  readCitation,
  readTable,
  tablesOf,
  type Description,
} from '../support/data-package.ts';
import { missing } from '../support/missing.ts';
import { firstHost, invited, type Hosted } from '../support/app.ts';
import { expectAccessible, expectFits, GOOD_PRACTICE, SIZES } from '../support/looking.ts';
import { guests, playedEvening, publish, type Evening } from '../support/publishing.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// The folder of a publication as somebody opens it from a memory stick: no server, no network, and no scripts but for the
// check of the package.

const ADDRESS = 'on-a-stick';

let host: Hosted;
let evening: Evening;
let stick: string;

async function unpack(zip: Uint8Array): Promise<void> {
  for (const { path, bytes } of unzipPackage(zip)) {
    await mkdir(dirname(join(stick, path)), { recursive: true });
    await writeFile(join(stick, path), bytes);
  }
}

const opened = (file: string): string => pathToFileURL(join(stick, file)).href;

/** A page without network; with scripts or without. Everything that it asks for, and every error, is noted. */
async function offline(scripts: boolean): Promise<{ page: Page; asked: string[]; errors: string[] }> {
  const context = await stage.browser.newContext({
    viewport: SIZES.laptop,
    javaScriptEnabled: scripts,
    offline: true,
  });
  const page = await context.newPage();
  const asked: string[] = [];
  const errors: string[] = [];
  page.on('request', (request) => asked.push(request.url()));
  page.on('requestfailed', (request) => errors.push(request.url()));
  page.on('pageerror', ({ message }) => errors.push(message));
  page.on('console', (line) => line.type() === 'error' && errors.push(line.text()));
  return { page, asked, errors };
}

async function passesAtAllSizes(page: Page, name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await page.setViewportSize(viewport);
    await stage.picture(page, `${name}-${size}`);
    await expectAccessible(page, `${name} ${size}`, GOOD_PRACTICE);
    await expectFits(page, `${name} ${size}`);
  }
}

const stage = useStage('published-folder');
beforeAll(async () => {
  stick = await mkdtemp(join(tmpdir(), 'oddglass-stick-'));
  host = await firstHost(stage.server.app);
  const steward = await invited(host, 'steward', 'Steward');
  evening = await playedEvening(stage.server, { host, steward }, guests(14));
  await publish(host, evening, { address: ADDRESS });
});

afterAll(() => stick && rm(stick, { recursive: true, force: true }));

test('a host downloads the folder where publications are managed, and reads who can open them', async () => {
  const context = await stage.browser.newContext({ viewport: SIZES.laptop, acceptDownloads: true });
  const bench = await context.newPage();
  await signIn(bench, stage.address, 'Host');
  await bench.goto(`${stage.address}/bench/trial/${evening.trial.id}/publish`);
  await bench.getByText('No public address is set (PUBLIC_URL)').waitFor();
  await bench.getByText('as files, for a web page, an archive or a memory stick').waitFor();
  await passesAtAllSizes(bench, 'bench');
  for (const name of [/^Download the folder of Cool/, 'Download the folder of the whole list']) {
    const coming = bench.waitForEvent('download');
    await bench.getByRole('link', { name }).click();
    const path = await (await coming).path();
    await unpack(await readFile(path));
  }
  await context.close();
});

/** The package of the folder, unpacked beside it, and what its README says to type. */
async function unpackedPackage(): Promise<{ folder: string; trays: number; lines: (of: string) => string }> {
  const folder = await mkdtemp(join(stick, 'package-'));
  for (const { path, bytes } of unzipPackage(await readFile(join(stick, ADDRESS, 'package.zip'))))
    await writeFile(join(folder, path), bytes);
  const readme = await readFile(join(folder, 'README.md'), 'utf8');
  const trays = (await readFile(join(folder, 'trays.csv'), 'utf8')).trimEnd().split('\r\n').length - 1;
  return {
    folder,
    trays,
    lines: (of) => new RegExp('```' + of + '\n([^`]+)```').exec(readme)?.[1] ?? '',
  };
}

test('its package satisfies the schemas that it names', async () => {
  const { folder } = await unpackedPackage();
  const text = (name: string) => readFile(join(folder, name), 'utf8');
  const described = JSON.parse(await text('datapackage.json')) as Description;
  expect(objections(described)).toEqual([]);
  for (const { name } of tablesOf(described)) await readTable(described, name, folder);
  // The citation stands in the folder and in the package.
  for (const at of [folder, join(stick, ADDRESS)])
    expect(readCitation(await readFile(join(at, 'CITATION.cff'), 'utf8')).objections).toEqual([]);
  const crate = JSON.parse(await text('ro-crate-metadata.json')) as { '@graph': { '@id': string }[] };
  const files = crate['@graph'].map((one) => one['@id']).filter((id) => /^[\w.-]+\.\w+$/.test(id));
  expect(files).toEqual(expect.arrayContaining(['result.json', 'trays.csv', 'README.md', 'CITATION.cff']));
  for (const file of files) await text(file);
});

const noR = spawnSync('Rscript', ['--version']).error !== undefined;
test('its package loads in R with the lines of its README', async ({ skip }) => {
  skip(noR, missing('R'));
  const { folder, trays, lines } = await unpackedPackage();
  const script = `${lines('r')}cat(nrow(trays), class(trays$code))`;
  const { stdout, stderr } = spawnSync('Rscript', ['--vanilla', '-e', script], {
    cwd: folder,
    encoding: 'utf8',
  });
  expect([stdout, stderr]).toEqual([`${trays} character`, '']);
});

const python = pythonWithPandas();
test('its package loads in pandas with the lines of its README', async ({ skip }) => {
  skip(python === null, missing('Python with pandas'));
  const { folder, trays, lines } = await unpackedPackage();
  const script = `${lines('python')}print(len(trays), trays['code'].dtype)`;
  const { stdout, stderr } = spawnSync(python ?? '', ['-c', script], { cwd: folder, encoding: 'utf8' });
  expect([stdout, stderr]).toEqual([`${trays} string\n`, '']);
});

test('the article is read from disk without network and without scripts', async () => {
  const { page, asked, errors } = await offline(false);
  await page.goto(opened(`${ADDRESS}/index.html`));
  const words = await page.locator('main').innerText();
  for (const part of ['found the odd one', '14 assessors', 'What was done so that nobody is found'])
    expect(words).toContain(part);
  expect(words).toContain(evening.session.root);
  expect(words).not.toMatch(/localhost|127\.0\.0\.1/);
  expect(await page.locator('main svg[role=img]').count()).toBeGreaterThan(0);
  // Folds open without scripts.
  const fold = page.locator('main details:not([open])').first();
  if ((await fold.count()) > 0) {
    await fold.locator('summary').first().click();
    expect(await page.locator('main details[open]').count()).toBeGreaterThan(0);
  }
  await page.getByRole('link', { name: 'verify.html' }).click();
  await page.getByRole('heading', { name: 'Check the package' }).waitFor();
  expect(await page.locator('main').innerText()).toContain('npm run verify -- package.zip');
  expect(errors).toEqual([]);
  expect(asked.filter((url) => !url.startsWith('file:'))).toEqual([]);
  await page.context().close();
});

test('looks the same as on the server: styles, letters and picture come from the folder', async () => {
  const { page, asked, errors } = await offline(true);
  await page.goto(opened(`${ADDRESS}/index.html`));
  await page.locator('img').scrollIntoViewIfNeeded();
  const seen = await page.evaluate(async () => {
    const image = document.querySelector('img');
    await image?.decode();
    await document.fonts.ready;
    return {
      size: [image?.naturalWidth, image?.naturalHeight],
      fonts: [...document.fonts].filter(({ status }) => status === 'loaded').length,
      hair: getComputedStyle(document.documentElement).getPropertyValue('--hair'),
    };
  });
  expect(seen.size).toEqual([1200, 630]);
  expect(seen.fonts).toBeGreaterThan(0);
  expect(seen.hair).not.toBe('');
  await passesAtAllSizes(page, 'article');
  expect(errors).toEqual([]);
  expect(asked.filter((url) => !/^(file|data):/.test(url))).toEqual([]);
  await page.context().close();
});

test('the package is checked there, and a changed one is found out', async () => {
  const { page, asked, errors } = await offline(true);
  await page.goto(opened(`${ADDRESS}/verify.html`));
  await page.getByText('No package is chosen yet').waitFor();
  await passesAtAllSizes(page, 'verify-empty');
  const choose = page.getByLabel(/^Data package/);
  await choose.setInputFiles(join(stick, ADDRESS, 'package.zip'));
  await page.locator('[data-verdict=agrees]').waitFor();
  expect(await page.locator('[data-verdict]').innerText()).toMatch(/^All \d+ checks agree\.$/);
  await passesAtAllSizes(page, 'verify');
  // One that was noted elsewhere, of another package.
  await page.getByLabel(/^Digest that you noted/).fill('0'.repeat(64));
  await page.getByLabel(/^Digest that you noted/).press('Tab');
  await page.locator('[data-verdict=differs]').waitFor();
  await page.getByLabel(/^Digest that you noted/).fill('');
  await choose.setInputFiles({
    name: 'no-package.zip',
    mimeType: 'application/zip',
    buffer: Buffer.from('not a ZIP'),
  });
  await page.getByText('no-package.zip').waitFor();
  await page.locator('[data-verdict=differs]').waitFor();
  expect(errors).toEqual([]);
  expect(asked.filter((url) => !/^(file|data):/.test(url))).toEqual([]);
  await page.context().close();
});

test('the folder of the list leads to each publication and is whole without scripts', async () => {
  const { page, errors } = await offline(false);
  await page.goto(opened('publications/index.html'));
  await stage.picture(page, 'list-laptop');
  await page.getByRole('link', { name: 'Cool against warm' }).click();
  await page.waitForURL(opened(`publications/${ADDRESS}/index.html`));
  expect(await page.locator('main').innerText()).toContain('found the odd one');
  expect(errors).toEqual([]);
  await page.context().close();
});
