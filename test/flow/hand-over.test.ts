import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { Caller, draft, firstHost, moved, newTrial, type Hosted } from '../support/app.ts';
import { ballotFor, trianglePart } from '../support/factories.ts';
import { expectAccessible, SIZES } from '../support/looking.ts';
import { signIn } from '../support/sign-in.ts';
import { useStage } from '../support/stage.ts';

// A seat from tablet to tablet, by hand: the host's way and the person's own, a seat made free, and the receipt that stays
// with whoever tasted. Looked at on a tablet, a phone and a laptop.

let host: Hosted;
let open: SessionView;
let bench: Page;

const stage = useStage('hand-over');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  const trial = await newTrial(host);
  const parts = [trianglePart(trial, { replicates: 2 })];
  open = await moved(host, await draft(host, trial, { assessors: 4, restSeconds: 0, parts }), 'seal', 'open');
  bench = await (await device('laptop')).newPage();
  await signIn(bench, stage.address, 'Host');
});

const device = (size: keyof typeof SIZES): Promise<BrowserContext> =>
  stage.browser.newContext({ viewport: SIZES[size], locale: 'en-GB', hasTouch: true });

async function look(page: Page, name: string): Promise<void> {
  await stage.picture(page, name, false);
  await expectAccessible(page, name);
}

/** A device that joined, took this seat and confirmed the cautions. */
async function sitDown(seat: number, size: keyof typeof SIZES = 'tablet'): Promise<Page> {
  const page = await (await device(size)).newPage();
  await page.goto(`${stage.address}/seat#${open.join?.token}`);
  await page.locator(`input[name=seat][value="${seat}"]`).check({ force: true });
  await page.getByRole('button', { name: /seat/i }).last().click();
  await page.getByRole('button', { name: 'I have read this and take part' }).click();
  await page.getByRole('button', { name: 'Menu' }).waitFor();
  return page;
}

const tokenOf = async (page: Page): Promise<string> =>
  (await page.evaluate(() => localStorage.getItem('oddglass.seat'))) ?? '';

const headingOf = (page: Page) => page.locator('main h1').first();

test('the host hands a seat over: the link opens it once, and the old tablet says that it lost it', async () => {
  const old = await sitDown(1);
  const tablet = new Caller(stage.server.app, await tokenOf(old));
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(trays[0]!, trays[0]!.servings[0]!.code));

  await bench.goto(`${stage.address}/bench/session/${open.id}`);
  await bench.getByRole('button', { name: 'Hand over seat 1' }).click();
  await look(bench, 'asked-laptop');
  await bench.getByRole('dialog').getByRole('button', { name: 'Hand over seat 1' }).click();
  const link = await bench.getByRole('textbox', { name: 'Way to seat 1' }).inputValue();
  expect(link).toMatch(/\/seat#move\.[\w-]{22}$/);
  await look(bench, 'way-laptop');
  await bench.setViewportSize(SIZES.phone);
  await look(bench, 'way-phone');
  await bench.setViewportSize(SIZES.laptop);

  // The host's own browser does not get in.
  const own = await bench.context().newPage();
  await own.goto(link);
  await own.getByText('This browser is signed in to the panel').waitFor();
  await own.close();
  expect(await tablet.call('GET', '/api/seat')).toMatchObject({ status: 200 });

  const next = await (await device('phone')).newPage();
  await next.goto(link);
  await next.getByText('The host handed this seat over to this tablet').waitFor();
  await look(next, 'taken-over-phone');
  await headingOf(old).getByText('This tablet has no seat now').waitFor();
  await look(old, 'lost-tablet');
  // Reloaded it is still there, by a token of its own; the link is used up.
  await next.reload();
  await next.getByText('The host handed this seat over to this tablet').waitFor();
  const late = await (await device('phone')).newPage();
  await late.goto(link);
  await late.getByText('This link does not lead to a seat any more').waitFor();
  await look(late, 'used-up-phone');

  await next.getByRole('button', { name: 'Menu' }).click();
  await next.getByRole('button', { name: 'Your receipt' }).click();
  await next.getByText('Use the one that was shown on the tablet you began on').waitFor();
  await look(next, 'no-receipt-phone');
});

test('somebody goes on on another tablet of their own, from the menu', async () => {
  const first = await sitDown(2);
  await first.getByRole('button', { name: 'Menu' }).click();
  await first.getByRole('button', { name: 'Your receipt' }).click();
  const receipt = await first.getByRole('textbox', { name: 'Private link to your answers' }).inputValue();
  expect(receipt).toMatch(new RegExp(`/receipt#[\\w-]{22}\\.${open.root}$`));
  await look(first, 'receipt-tablet');
  await first.getByRole('button', { name: 'Back', exact: true }).click();
  const asked = first.waitForResponse(/\/api\/seat\/move$/);
  await first.getByRole('button', { name: 'Move to another tablet' }).click();
  const { moveToken } = (await (await asked).json()) as { moveToken: string };
  await first.getByRole('img', { name: 'QR code of the link to seat 2' }).waitFor();
  await look(first, 'move-tablet');
  const second = await (await device('tablet')).newPage();
  await second.goto(`${stage.address}/seat#move.${moveToken}`);
  await second.getByRole('button', { name: 'Menu' }).waitFor();
  await headingOf(first).getByText('This tablet has no seat now').waitFor();
  expect(await second.getByText('The host handed this seat over').count()).toBe(0);

  const reader = await (await device('phone')).newPage();
  await reader.goto(receipt);
  await reader.getByText('Nothing has arrived from your seat yet').waitFor();
  expect(await reader.getByText('has another seal now').count()).toBe(0);
  await reader.goto(`${receipt.replace(/\.[0-9a-f]+$/, '')}.${'f'.repeat(64)}`);
  await reader.reload();
  await reader.getByText('This tasting has another seal now than when you sat down').waitFor();
  await look(reader, 'other-seal-phone');
});

test('a seat taken by mistake is made free from the board', async () => {
  const wrong = await sitDown(3, 'phone');
  await bench.goto(`${stage.address}/bench/session/${open.id}`);
  // Seat 1 has answered: it can be handed over and not freed.
  await bench.getByRole('button', { name: 'Make seat 3 free' }).click();
  expect(await bench.getByRole('button', { name: 'Make seat 1 free' }).count()).toBe(0);
  await look(bench, 'free-laptop');
  await bench.getByRole('dialog').getByRole('button', { name: 'Make seat 3 free' }).click();
  await headingOf(wrong).getByText('This tablet has no seat now').waitFor();
  await wrong.getByRole('button', { name: 'Use this tablet for another seat' }).click();
  await expect.poll(() => bench.getByRole('button', { name: 'Make seat 3 free' }).count()).toBe(0);
  await look(bench, 'board-laptop');
  await bench.setViewportSize(SIZES.phone);
  await look(bench, 'board-phone');
  await bench.setViewportSize(SIZES.laptop);
});

test('who was cut off by the close gets a receipt, and it says what was found', async () => {
  const cut = await sitDown(4, 'phone');
  const tablet = new Caller(stage.server.app, await tokenOf(cut));
  const { trays } = await tablet.ok<SeatView>('GET', '/api/seat');
  await tablet.ok('POST', '/api/seat/ballots', ballotFor(trays[0]!, trays[0]!.servings[0]!.code));
  await moved(host, open, 'close');
  await headingOf(cut).getByText('The tasting is closed').waitFor();
  // Its answer came by another way than this page.
  await cut.reload();
  const receipt = await cut.getByRole('textbox', { name: 'Private link to your answers' }).inputValue();
  await cut.getByText('All answers are sealed as').waitFor();
  await look(cut, 'closed-phone');
  await bench.goto(`${stage.address}/bench/session/${open.id}`);
  await bench.getByText('answers, sealed at the close').waitFor();
  await look(bench, 'closed-laptop');
  await moved(host, open, 'reveal');
  const reader = await (await device('phone')).newPage();
  await reader.goto(receipt);
  await reader.getByRole('heading', { name: 'What was found at the reveal' }).waitFor();
  await reader.getByText('Yours are among them, as they stand here').waitFor();
  await stage.picture(reader, 'revealed-phone');
  await look(reader, 'revealed-top-phone');
  await reader.getByRole('button', { name: 'Withdraw my answers' }).click();
  await reader.getByRole('button', { name: 'Withdraw them' }).click();
  await reader.getByText('You withdrew your answers').waitFor();
  await bench.goto(`${stage.address}/bench/session/${open.id}/result`);
  await bench.getByText('This is what was found at the reveal').waitFor();
  // Half turned, a name has half its contrast.
  await bench.getByRole('button', { name: 'Skip' }).click();
  await look(bench, 'later-laptop');
  await bench.setViewportSize(SIZES.phone);
  await look(bench, 'later-phone');
});
