import { writeFile } from 'node:fs/promises';
import { openDb } from '@oddglass/db/client.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { beforeAll, expect, test } from 'vitest';
import { firstHost, newTrial } from '../support/app.ts';
import { layFrozen } from '../support/frozen.ts';
import { fiveSessions, KINDS_BY_NAME, onePartEach } from '../support/printing.ts';
import { useStage } from '../support/stage.ts';

// What a reader prints and what a phone gets: sheets of A4 as Chromium lays them out, the width of the page on a phone, and
// the bytes of the page. How many sheets an article may take is the project's own bar.

const SHEETS = 5;
const SHEETS_OF_FIVE_SESSIONS = 8;
const MAX_BYTES = 100_000;
const KIND_NAMES = Object.keys(KINDS_BY_NAME);
let laid = 0;
let lay: (name: string, publication: Publication) => Promise<string>;

const stage = useStage('printed', { clock: 'moved' });
beforeAll(async () => {
  const trial = await newTrial(await firstHost(stage.server.app));
  lay = async (name, publication) => {
    laid += 1;
    const id = `00000000-0000-4000-8000-${String(laid).padStart(12, '0')}`;
    await layFrozen(openDb(stage.server.database.pool), trial, id, `printed-${name}`, publication);
    return `${stage.address}/p/printed-${name}`;
  };
});

/** Sheets of a PDF: its page objects, which Chromium leaves uncompressed (PDF 1.7, 7.7.3.3). */
const sheetsIn = (pdf: Buffer): number =>
  pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;

interface Printed {
  sheets: number;
  /** Pixels by which it is wider than a phone. */
  tooWide: number;
  /** Bytes of the page as it is sent, and of all that comes with it. */
  bytes: number;
  /** What a printed page says. */
  words: string;
}

/** @param open words of the page on a screen, its folds open; else those on paper. */
async function printed(name: string, publication: Publication, open = false): Promise<Printed> {
  const url = await lay(name, publication);
  const context = await stage.browser.newContext({
    viewport: { width: 390, height: 844 },
    javaScriptEnabled: true,
  });
  const page = await context.newPage();
  let bytes = 0;
  page.on('requestfinished', (request) => {
    void request.sizes().then((size) => (bytes += size.responseBodySize + size.responseHeadersSize));
  });
  await page.goto(url, { waitUntil: 'networkidle' });
  // Folds are open too: what stands in them must fit as well.
  await page.evaluate(() => document.querySelectorAll('details').forEach((fold) => (fold.open = true)));
  const [wide, screen] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  const onScreen = await page.evaluate(() => document.body.innerText);
  if (open) await stage.picture(page, `${name}-phone`);
  await page.evaluate(() => document.querySelectorAll('details').forEach((fold) => (fold.open = false)));
  const pdf = await page.pdf({ format: 'A4', printBackground: true });
  await writeFile(`${stage.shots}/${name}.pdf`, pdf);
  await page.emulateMedia({ media: 'print' });
  const words = await page.evaluate(() => document.body.innerText);
  await context.close();
  return {
    sheets: sheetsIn(pdf),
    tooWide: (wide ?? 0) - (screen ?? 0),
    bytes,
    words: open ? onScreen : words,
  };
}

test.each(KIND_NAMES)('%s prints on few sheets, fits a phone and is light', async (name) => {
  const [one] = onePartEach(24, [name]);
  const { sheets, tooWide, bytes, words } = await printed(name, one?.[1] as Publication);
  console.log(`${name}: ${sheets} sheets, ${tooWide} px, ${bytes} bytes`);
  expect.soft(sheets).toBeLessThanOrEqual(SHEETS);
  expect.soft(sheets).toBeGreaterThan(1);
  expect.soft(tooWide).toBeLessThanOrEqual(0);
  expect.soft(bytes).toBeLessThan(MAX_BYTES);
  expect.soft(bytes).toBeGreaterThan(5_000);
  expect.soft(words).toContain('as files in its data package');
  // Folds and their tables are for the screen.
  expect.soft(words).not.toMatch(/Tables behind this finding|How this was computed/);
});

test('every kind of part is among them', () => {
  expect(new Set(KIND_NAMES.map((name) => KINDS_BY_NAME[name]?.kind))).toEqual(new Set(Object.keys(KINDS)));
});

test('of a small panel the page says what is withheld, and claims no precision', async () => {
  const [small] = onePartEach(8, ['triangle']);
  const { words } = await printed('few', small?.[1] as Publication, true);
  expect(words).toContain('Words were chosen and are withheld');
  expect(words).not.toContain('Nobody chose a word.');
  expect(words).not.toContain('full precision');
  const [marks] = onePartEach(8, ['rating']);
  const rated = await printed('few-marks', marks?.[1] as Publication, true);
  expect(rated.words).toContain('All numbers that are told, rounded');
  expect(rated.words).toMatch(/each figure is rounded by itself/);
  // Cells of a table are parted by tabs; in sentences 'none' may well stand.
  expect(rated.words).not.toMatch(/\tnone(?:\s|$)/);
});

test('five sessions print on few sheets, and each finding stands on paper', async () => {
  const publication = fiveSessions();
  const { sheets, tooWide, bytes, words } = await printed('five-sessions', publication);
  console.log(`five sessions: ${sheets} sheets, ${tooWide} px, ${bytes} bytes`);
  expect.soft(sheets).toBeLessThanOrEqual(SHEETS_OF_FIVE_SESSIONS);
  expect.soft(tooWide).toBeLessThanOrEqual(0);
  expect.soft(bytes).toBeLessThan(MAX_BYTES);
  for (const { parts } of publication.sessions) {
    for (const { finding } of parts) expect(words).toContain(finding.headline);
  }
});
