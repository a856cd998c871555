import { mkdir, writeFile } from 'node:fs/promises';
import { pathToFileURL } from 'node:url';
import AxeBuilder from '@axe-core/playwright';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { PART_KINDS } from '@oddglass/shared/kinds/kinds.ts';
import { ballotNumber } from '@oddglass/shared/paper/ballot-number.ts';
import jsqr from 'jsqr';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  Caller,
  draft,
  firstHost,
  moved,
  newTrial,
  seated,
  startServer,
  type Hosted,
  type TestServer,
} from '../support/app.ts';
import { launchBrowser } from '../support/browser.ts';
import {
  answerOnTablet,
  copyRows,
  paperCaveats,
  printOf,
  typedFrom,
  withoutPaper,
} from '../support/paper-evening.ts';
import { paperKinds } from '../support/paper-kinds.ts';
import { signIn } from '../support/sign-in.ts';

// An evening on paper in a real browser: ballots as Chromium prints them, found by their QR, entered by the keyboard alone,
// twice, and a result that is that of tablets.

const SIZES = { phone: [390, 844], tablet: [1180, 820], desk: [1440, 900] } as const;
const PEOPLE = 12;
// Its types tell of a module that has the function below `default`; in Node the module is the function.
const decodeQr = jsqr as unknown as typeof jsqr.default;
const root = new URL('../../', import.meta.url).pathname;
const shots = `${root}test/.artifacts/paper`;
let server: TestServer;
let address: string;
let browser: Browser;
let host: Hosted;
let trial: TrialView;
let bench: Page;
const errors: string[] = [];

beforeAll(async () => {
  await mkdir(shots, { recursive: true });
  const { handler } = (await import(pathToFileURL(`${root}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({ webHandler: handler, clock: () => new Date() });
  address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
  browser = await launchBrowser();
  host = await firstHost(server.app);
  trial = await newTrial(host, {
    arms: ['Coolvessel', 'Warmvessel', 'Oakvessel'].map((name) => ({
      name,
      differs: `the ${name}`,
      volumeMl: 20_000,
      abv: 4,
      allergens: ['gluten'],
    })),
  });
  bench = await newPage();
  await signIn(bench, address, 'Host');
});
afterAll(async () => {
  await browser?.close();
  await server?.close();
});

async function newPage(): Promise<Page> {
  const [width, height] = SIZES.tablet;
  const context = await browser.newContext({
    viewport: { width, height },
    reducedMotion: 'reduce',
    // As finely as a phone sees a small code.
    deviceScaleFactor: 2,
  });
  const page = await context.newPage();
  page.on('pageerror', (error) => errors.push(error.message));
  return page;
}

const sealed = async (parts: Part[], people = 2): Promise<SessionView> =>
  moved(
    host,
    await draft(host, trial, { assessors: people, spareSeats: 0, cupMl: 15, parts, restSeconds: 90 }),
    'seal',
  );

/** Sheets of a PDF: its page objects, which Chromium leaves uncompressed (PDF 1.7, 7.7.3.3), and whether they are all A4. */
function sheetsIn(pdf: Buffer): { sheets: number; a4: boolean } {
  const text = pdf.toString('latin1');
  const boxes = [...text.matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]/g)];
  // 210 by 297 mm at 72 units an inch (ISO 216; PDF 1.7, 8.3.2.3).
  const a4 = boxes.every(([, w, h]) => Math.abs(Number(w) - 595.28) < 1 && Math.abs(Number(h) - 841.89) < 1);
  return { sheets: text.match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0, a4: a4 && boxes.length > 0 };
}

async function printed(
  session: SessionView,
  name: string,
  query = '',
): Promise<{ sheets: number; a4: boolean }> {
  await bench.goto(`${address}/bench/session/${session.id}/paper${query}`, { waitUntil: 'networkidle' });
  const pdf = await bench.pdf({ preferCSSPageSize: true, printBackground: false });
  await writeFile(`${shots}/${name.replaceAll(/[^a-z0-9]+/g, '-')}.pdf`, pdf);
  return sheetsIn(pdf);
}

async function looksWell(page: Page, name: string): Promise<void> {
  for (const [size, [width, height]] of Object.entries(SIZES)) {
    await page.setViewportSize({ width, height });
    await page.screenshot({ path: `${shots}/${name}-${size}.png` });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    expect(wide, `${name} on ${size}`).toBeLessThanOrEqual(0);
  }
  const [width] = SIZES.tablet;
  await page.setViewportSize({ width, height: 1600 });
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
    .analyze();
  expect(violations.map(({ id, nodes }) => `${name}: ${id} ${nodes[0]?.html}`)).toEqual([]);
}

/** What a drawn QR says, read by a library from the pixels on the page. */
async function readQr(drawn: Locator): Promise<string | undefined> {
  const png = (await drawn.screenshot()).toString('base64');
  const { width, height, rgba } = await drawn.page().evaluate(async (data) => {
    const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes]));
    const canvas = new OffscreenCanvas(image.width, image.height);
    const context = canvas.getContext('2d')!;
    context.drawImage(image, 0, 0);
    const pixels = context.getImageData(0, 0, image.width, image.height);
    return { width: pixels.width, height: pixels.height, rgba: [...pixels.data] };
  }, png);
  return decodeQr(Uint8ClampedArray.from(rgba), width, height)?.data;
}

test('every kind of part has its ballot, on as few sheets as it takes', { timeout: 240_000 }, async () => {
  const kinds = paperKinds(trial);
  const printedKinds = Object.values(kinds).flatMap(({ parts }) => parts.map(({ kind }) => kind));
  expect(new Set(printedKinds)).toEqual(new Set(PART_KINDS));
  for (const [name, { parts, sheets }] of Object.entries(kinds)) {
    const session = await sealed(parts);
    const paper = await printed(session, name, '?from=1&to=1');
    console.log(`${name}: ${paper.sheets}`);
    expect.soft(paper, name).toEqual({ sheets, a4: true });
    const words = await bench.locator('.ballot').innerText();
    expect.soft(words, name).not.toMatch(/undefined|NaN|\[object|[Vv]essel/);
    // Codes stand in the order of the seat.
    const { ballots } = (await printOf(host, session, '?from=1&to=1')).body;
    const told = await bench.locator('.ballot .cups ol .num').allInnerTexts();
    expect
      .soft(told, name)
      .toEqual(ballots[0]!.trays.flatMap(({ servings }) => servings.map(({ code }) => code)));
  }
  expect(errors).toEqual([]);
});

test('a line to mark is 100 mm long on paper', async () => {
  const session = await sealed(paperKinds(trial)['rating on lines']!.parts);
  await bench.goto(`${address}/bench/session/${session.id}/paper?from=1&to=1`, { waitUntil: 'networkidle' });
  await bench.emulateMedia({ media: 'print' });
  const widths = await bench
    .locator('.ballot .line')
    .evaluateAll((lines) => lines.map((one) => one.getBoundingClientRect().width));
  await bench.emulateMedia({ media: null });
  expect(widths.length).toBe(9);
  // CSS Values 4, 6.2: 96 px an inch, 25.4 mm an inch.
  for (const width of widths) expect(width).toBeCloseTo((100 / 25.4) * 96, 1);
});

/** One ballot entered at the desk, by keys alone. */
async function keyIn(desk: Page, number: string, values: Record<string, string>): Promise<void> {
  const type = async (text: string): Promise<void> => {
    await desk.keyboard.type(text);
    await desk.keyboard.press('Enter');
  };
  await desk.waitForFunction(() => document.activeElement?.matches('main form input'));
  await type(number);
  for (const [id, text] of Object.entries(values)) {
    await desk.waitForFunction(
      (place) => (document.activeElement as HTMLElement).dataset['place'] === place,
      id,
    );
    await type(text);
  }
}

test(
  'twelve ballots: printed one a sheet, found by QR, entered twice by keyboard, and counted as tablets are',
  { timeout: 240_000 },
  async () => {
    const { triangle } = paperKinds(trial);
    const session = await moved(host, await sealed(triangle!.parts, PEOPLE), 'open');
    const twin = await startServer({ clock: () => new Date() });
    try {
      await copyRows(server.database.pool, twin.database.pool);
      expect(await printed(session, 'twelve')).toEqual({ sheets: PEOPLE, a4: true });
      await looksWell(bench, 'print');
      const numbers: string[] = [];
      for (const ballot of await bench.locator('.ballot').all()) {
        numbers.push((await readQr(ballot.locator('.head .qr svg'))) ?? 'not read');
      }
      expect(numbers).toEqual(Array.from({ length: PEOPLE }, (_, at) => ballotNumber(session.root!, at + 1)));
      const slip = await readQr(bench.locator('.ballot').first().locator('.slip .qr svg'));
      expect(slip).toBe(`${address}/receipt#slip.${numbers[0]}.${session.root}`);

      // The host makes the way to the desk; a guest goes it, and from there on touches nothing but keys.
      await bench.goto(`${address}/bench/session/${session.id}`);
      await bench.getByRole('button', { name: 'Desk for ballots…' }).click();
      await bench.getByRole('button', { name: 'Make the link' }).click();
      const way = await bench.getByRole('textbox', { name: 'Way to the desk' }).inputValue();
      await bench.keyboard.press('Escape');
      const desk = await newPage();
      await desk.goto(way);
      await desk.getByRole('heading', { level: 1 }).waitFor();
      await looksWell(desk, 'door');
      await desk.waitForFunction(() => document.activeElement?.matches('main form input'));
      await desk.keyboard.type('Wren');
      await desk.keyboard.press('Enter');
      await desk.getByRole('heading', { name: 'The stack' }).waitFor();

      const { body: print } = await printOf(host, session);
      const typed = print.ballots.map((ballot) =>
        typedFrom(ballot.seat, { session: print.session, ...ballot }),
      );
      for (const [at, number] of numbers.entries()) {
        await keyIn(desk, number, typed[at]!);
        await desk.getByText(`seat ${at + 1}: entered once`).waitFor();
      }
      await looksWell(desk, 'stack');
      // The second time a slip of the fingers on the fifth sheet: another cup.
      const codes = print.ballots[4]!.trays[0]!.servings.map(({ code }) => code);
      const slipped = codes.find((code) => code !== typed[4]!['1.1.1.cups'])!;
      for (const [at, number] of numbers.entries()) {
        await keyIn(desk, number, at === 4 ? { ...typed[at]!, '1.1.1.cups': slipped } : typed[at]!);
        if (at !== 4) {
          await desk.getByText(`seat ${at + 1}: counts.`).waitFor();
          continue;
        }
        await desk.getByText('Two entries differ').waitFor();
        const both = await desk.locator('form .both').allInnerTexts();
        expect(both.map((text) => text.replaceAll(/\s+/g, ' '))).toEqual([
          `first ${typed[4]!['1.1.1.cups']} second ${slipped}`,
        ]);
        await looksWell(desk, 'differs');
        expect(await desk.evaluate(() => (document.activeElement as HTMLElement).dataset['place'])).toBe(
          '1.1.1.cups',
        );
        await desk.keyboard.type(typed[4]!['1.1.1.cups']!);
        await desk.keyboard.press('Enter');
        await desk.getByText('seat 5: counts.').waitFor();
      }
      await desk.getByText(`${PEOPLE} of ${PEOPLE} ballots entered so far count.`).waitFor();

      const onTablets = new Caller(twin.app);
      onTablets.cookie = host.caller.cookie;
      for (const ballot of print.ballots) {
        const tablet = await seated(twin.app, session, ballot.seat);
        await answerOnTablet(tablet, ballot.seat, { session: print.session, ...ballot });
      }
      await bench.getByText(`${PEOPLE} of ${PEOPLE} ballots on paper count so far.`).waitFor();
      await looksWell(bench, 'board');
      const results = [];
      for (const who of [host.caller, onTablets]) {
        for (const step of ['close', 'reveal'])
          await who.ok('POST', `/api/sessions/${session.id}/${step}`, {});
        results.push(await who.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`));
      }
      const [paper, tablets] = results as [ResultDocument, ResultDocument];
      expect(paper.parts[0]!.served).toMatchObject({ seated: PEOPLE, assessors: PEOPLE, unanswered: 0 });
      expect(paper.session.paper).toEqual({ ballots: PEOPLE, entered: 'twice' });
      expect(paperCaveats(paper)).toHaveLength(1);
      // The clocks of the two go on by themselves: that each was revealed a moment after the other says nothing of paper.
      const moment = (result: ResultDocument): unknown => {
        const plain = withoutPaper(result) as { session: { revealedAt: string } };
        return { ...plain, session: { ...plain.session, revealedAt: '' } };
      };
      expect(moment(paper)).toEqual(moment(tablets));

      await bench.goto(`${address}/bench/session/${session.id}/result`);
      await bench.getByRole('heading', { level: 1 }).waitFor();
      expect(await bench.locator('main').textContent()).toContain('Twelve ballots came from paper');
      await desk.reload();
      await desk.getByText('The desk is shut').waitFor();
      await looksWell(desk, 'shut');
      expect(errors).toEqual([]);
    } finally {
      await twin.close();
    }
  },
);

test('a place that cannot be read says so and keeps the focus; Escape puts the ballot back', async () => {
  const { 'rating on lines': lines } = paperKinds(trial);
  const session = await moved(host, await sealed(lines!.parts), 'open');
  const offer = await host.caller.ok<{ linkToken: string }>(
    'POST',
    `/api/sessions/${session.id}/paper/desk`,
    {},
  );
  const desk = await newPage();
  await desk.goto(`${address}/desk#${offer.linkToken}`);
  await desk.waitForFunction(() => document.activeElement?.matches('main form input'));
  await desk.keyboard.type('Lark');
  await desk.keyboard.press('Enter');
  await desk.getByRole('heading', { name: 'The stack' }).waitFor();
  await desk.waitForFunction(() => document.activeElement?.matches('main form input'));
  await desk.keyboard.type('1234567');
  await desk.keyboard.press('Enter');
  await desk.getByText(/A digit is wrong|belongs to another tasting/).waitFor();
  await desk.keyboard.type(ballotNumber(session.root!, 2));
  await desk.keyboard.press('Enter');
  await desk.getByRole('heading', { name: /seat 2/ }).waitFor();
  await desk.keyboard.press('Enter');
  await desk.keyboard.type('101');
  await desk.keyboard.press('Enter');
  await desk.getByRole('alert').filter({ hasText: 'Millimetres from the left end, 0 to 100' }).waitFor();
  expect(await desk.evaluate(() => (document.activeElement as HTMLElement).dataset['place'])).toBe(
    '1.1.1.m1',
  );
  await looksWell(desk, 'ballot');
  await desk.keyboard.press('Escape');
  await desk.getByRole('heading', { name: 'The stack' }).waitFor();
  const { rows } = await server.database.pool.query('select id from paper_entry where session_id = $1', [
    session.id,
  ]);
  expect(rows).toEqual([]);
});

test('the slip leads to a receipt by its six digits, on a phone', async () => {
  const page = await newPage();
  await page.goto(`${address}/receipt`);
  await page.getByRole('heading', { name: 'Your ballot on paper' }).waitFor();
  await looksWell(page, 'slip');
  await page.getByLabel('Number of the ballot').fill('12');
  await page.getByLabel('Your six digits').fill('123456');
  await page.getByLabel('Seal').fill('0123456789ab');
  await page.getByRole('button', { name: 'Show my answers' }).click();
  await page.getByText('The number has seven digits.').first().waitFor();
  await page.getByLabel('Number of the ballot').fill('1234567');
  await page.getByRole('button', { name: 'Show my answers' }).click();
  await page
    .getByText('do not belong together')
    .or(page.getByText('Read both off the slip'))
    .first()
    .waitFor();
});
