import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { setTimeout as wait } from 'node:timers/promises';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { Caller, draft, firstHost, invited, moved, newTrial, type Hosted } from '../support/app.ts';
import { oddCodes } from '../support/factories.ts';
import { expectAccessible, expectFits, onScreens, SIZES, WCAG } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// Fifteen people and four tablets: four waves. Everybody answers otherwise than the one before, and whoever has a tablet next
// finds nothing of them on it: not on the page, not by Back, by a reload, in another tab or by the address of before, and not
// in anything that the browser keeps. In a browser that keeps pages whole for the way back, as people's do.

const PEOPLE = 15;
const TABLETS = 4;

let host: Hosted;
let steward: Hosted;
let open: SessionView;
let bench: Page;
let odd: Map<string, string>;

/** What is somebody's own: it may stand nowhere once the tablet is another's. */
interface Person {
  seat: number;
  secrets: string[];
  chosen: string;
  /** Its place on the tray. */
  place: number;
  comment: string;
  receipt: Caller;
}
const people: Person[] = [];

const stage = useStage('waves', { keepsPages: true });
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  steward = await invited(host, 'steward', 'Steward');
  const planned = await draft(host, await newTrial(host), {
    title: 'Pale beer, four at a time',
    assessors: PEOPLE,
    spareSeats: 0,
    seatsAtOnce: TABLETS,
    restSeconds: 0,
  });
  open = await moved(host, planned, 'seal');
  odd = oddCodes(await steward.caller.ok<PourView>('GET', `/api/sessions/${open.id}/pour`));
  bench = await stage.signedIn('Host', SIZES.laptop);
});

const tablets: { context: BrowserContext; page: Page }[] = [];

async function look(page: Page, name: string): Promise<void> {
  await onScreens(page, [SIZES.tablet, SIZES.phone], async (width) => {
    await stage.picture(page, `${name}-${width}`, false);
    await expectAccessible(page, `${name} at ${width}`, WCAG);
    await expectFits(page, `${name} at ${width}`);
  });
}

/** What this page says and this browser keeps, and the same with everything else there is of the page, as text. */
const keptBy = (page: Page): Promise<{ kept: string; anything: string }> =>
  page.evaluate(async () => {
    const all = async (name: string): Promise<unknown[]> =>
      new Promise((resolve, reject) => {
        const opening = indexedDB.open(name);
        opening.onerror = () => reject(new Error(name));
        opening.onsuccess = async () => {
          const found: unknown[] = [];
          for (const store of opening.result.objectStoreNames) {
            const read = opening.result.transaction(store).objectStore(store);
            for (const asked of [read.getAllKeys(), read.getAll()] as IDBRequest<unknown[]>[])
              await new Promise((done) => {
                asked.onsuccess = () => done(found.push(store, ...asked.result));
              });
          }
          opening.result.close();
          resolve(found);
        };
      });
    const databases = await indexedDB.databases();
    const kept = {
      text: document.body.innerText,
      names: [...document.querySelectorAll('[aria-label], [alt], [title]')].map((one) =>
        ['aria-label', 'alt', 'title'].map((name) => one.getAttribute(name)).join(' '),
      ),
      local: { ...localStorage },
      databases: await Promise.all(databases.map(({ name }) => all(name ?? ''))),
    };
    const anything = {
      ...kept,
      page: document.documentElement.outerHTML,
      fields: [...document.querySelectorAll('input, textarea')].map((one) => (one as HTMLInputElement).value),
      title: document.title,
      address: location.href,
      state: history.state as unknown,
      session: { ...sessionStorage },
      caches: 'caches' in globalThis ? await caches.keys() : [],
      workers: (await navigator.serviceWorker?.getRegistrations())?.length ?? 0,
      cookies: document.cookie,
    };
    return { kept: JSON.stringify(kept), anything: JSON.stringify(anything) };
  });

/** Nothing of anybody who has finished is on this page, nor kept by its browser; looked at for a moment. */
async function expectNothingOf(page: Page, who: readonly Person[], where: string, looks = 1): Promise<void> {
  for (let at = 0; at < looks; at++) {
    // Before the first page there is none, and nothing of a page may be read there.
    if (page.url() === 'about:blank') return;
    // A page that begins anew has nothing to read for a moment.
    const { kept, anything } = await keptBy(page).catch(() => ({ kept: '', anything: '' }));
    for (const { seat, secrets } of who) {
      // Three digits stand in sizes and times too: a code is looked for where people read, and where answers lie.
      const found = secrets.filter((secret) =>
        /^\d{3}$/.test(secret) ? new RegExp(`\\b${secret}\\b`).test(kept) : anything.includes(secret),
      );
      expect(found, `${where}: of seat ${seat}`).toEqual([]);
    }
    if (looks > 1) await wait(150);
  }
}

const heading = (page: Page, name: string | RegExp) => page.getByRole('heading', { level: 1, name });
const press = (page: Page, name: string | RegExp) => page.getByRole('button', { name }).click();

/** From the door to the last sheet, answering in a way of one's own; not sent yet. */
async function taste(
  page: Page,
  seat: number,
): Promise<Pick<Person, 'seat' | 'chosen' | 'place' | 'comment' | 'secrets'>> {
  await page.getByRole('radio', { name: String(seat), exact: true }).check({ force: true });
  await press(page, `Take seat ${seat}`);
  await press(page, 'I have read this and take part');
  await heading(page, /^Taste \d{3}$/).waitFor();
  const seatToken = (await page.evaluate(() => localStorage.getItem('oddglass.seat'))) ?? '';
  const { trays } = await new Caller(stage.server.app, seatToken).ok<SeatView>('GET', '/api/seat');
  const codes = trays.flatMap(({ servings }) => servings.map(({ code }) => code));
  const chosen = codes[seat % codes.length] ?? '';
  const comment = `said only by number ${'abcdefghijklmno'.charAt(seat - 1).repeat(6)}`;
  for (let cup = 1; cup <= 3; cup++) await press(page, /^Tasted\./);
  await page.getByRole('radio', { name: new RegExp(`^${chosen}`) }).check({ force: true });
  await page
    .getByRole('radio', { name: ['Certain', 'Fairly sure', 'I guessed'][seat % 3] ?? '' })
    .check({ force: true });
  await press(page, 'Next: what told it apart');
  await page.getByLabel('In your own words, if you like').fill(comment);
  await press(page, 'Next: review');
  await page.getByRole('button', { name: 'Send', exact: true }).waitFor();
  // Ids of trays and cups lead to codes, for whoever has the token; the token is gone.
  const ids = trays.flatMap(({ id, servings }) => [id, ...servings.map((one) => one.id)]);
  return {
    seat,
    chosen,
    place: codes.indexOf(chosen) + 1,
    comment,
    secrets: [seatToken, comment, ...codes, ...ids],
  };
}

/** Sends, and is thanked; the receipt is photographed. */
async function finish(page: Page, said: Awaited<ReturnType<typeof taste>>): Promise<Person> {
  await press(page, 'Send');
  await heading(page, /That was your last tray/).waitFor();
  const link = await page.getByRole('textbox', { name: 'Private link to your answers' }).inputValue();
  const [, token = ''] = /#([\w-]{22})\./.exec(link) ?? [];
  const person = { ...said, receipt: new Caller(stage.server.app, token), secrets: [...said.secrets, token] };
  people.push(person);
  return person;
}

async function handOn(page: Page): Promise<void> {
  await press(page, 'Hand this tablet on…');
  await press(page, 'The next person takes this tablet');
}

/** Everybody of a wave at a tablet of theirs, at once. */
async function wave(seats: readonly number[]): Promise<Person[]> {
  return Promise.all(
    seats.map(async (seat, at) => {
      const { page } = tablets[at]!;
      return finish(page, await taste(page, seat));
    }),
  );
}

async function callNext(number: number): Promise<void> {
  await press(bench, `Call wave ${number}…`);
  await bench
    .getByRole('dialog')
    .getByRole('button', { name: `Call wave ${number}`, exact: true })
    .click();
  await bench.getByText(new RegExp(`^Wave ${number}, seats .* nobody has sat down$`)).waitFor();
}

test('the first wave sits down at four tablets, and nobody else can', async () => {
  await bench.goto(`${stage.address}/bench/session/${open.id}`);
  await bench.getByText('4 seats, in 4 waves').waitFor();
  await press(bench, 'Open tasting');
  await bench.getByText('Wave 1 of 4 is called.').waitFor();
  open = await host.caller.ok<SessionView>('GET', `/api/sessions/${open.id}`);
  for (let at = 0; at < TABLETS; at++) {
    const page = await stage.newPage(SIZES.tablet, { hasTouch: true, reducedMotion: 'reduce' });
    tablets.push({ context: page.context(), page });
    await page.goto(`${stage.address}/seat#${open.join?.token}`);
    await heading(page, 'Where do you sit?').waitFor();
  }
  const { page } = tablets[0]!;
  expect(await page.getByRole('radio').count()).toBe(4);
  await page.getByText('Wave 1 of 4 sits down now.').waitFor();
  await look(page, 'door-first-wave');
});

test('a tablet is handed on only once the host has every answer', async () => {
  const { page, context } = tablets[1]!;
  const said = await taste(page, 2);
  await context.setOffline(true);
  await press(page, 'Send');
  await heading(page, /That was your last tray/).waitFor();
  const waiting = page.getByRole('button', { name: 'Waiting for the host’s server' });
  await waiting.waitFor();
  expect(await waiting.isDisabled()).toBe(true);
  expect(await page.getByRole('button', { name: /Hand this tablet on/ }).count()).toBe(0);
  await page.getByText('Only then can somebody else have this tablet').waitFor();
  await look(page, 'waiting-for-the-host');
  await context.setOffline(false);
  await page.getByRole('button', { name: 'Hand this tablet on…' }).waitFor();
  // The receipt is made once more by itself.
  const link = await page.getByRole('textbox', { name: 'Private link to your answers' }).inputValue();
  const [, token = ''] = /#([\w-]{22})\./.exec(link) ?? [];
  people.push({
    ...said,
    receipt: new Caller(stage.server.app, token),
    secrets: [...said.secrets, token],
  });
});

test('what somebody answered is gone with them: by no way does the next person find it', async () => {
  const { page, context } = tablets[0]!;
  // The address was opened twice, so that Back leads to a page of this seat.
  const said = await taste(page, 1);
  await page.goto(`${stage.address}/seat`);
  await page.getByRole('button', { name: 'Send', exact: true }).waitFor();
  const first = await finish(page, said);
  const seatToken = first.secrets[0] ?? '';
  const second = await context.newPage();
  await second.goto(`${stage.address}/seat`);
  await heading(second, /That was your last tray/).waitFor();
  // It would be found if it were there.
  await expect(expectNothingOf(page, [first], 'planted')).rejects.toThrow('of seat 1');
  const before = await keptBy(page);
  expect(before.anything).toContain(seatToken);
  await page.bringToFront();
  await look(page, 'finished');
  await press(page, 'Hand this tablet on…');
  await page.getByText('Have you kept your receipt?').waitFor();
  await look(page, 'hand-on-asked');
  await press(page, 'Back to my receipt');
  await handOn(page);
  // Seats 3 and 4 of the first wave are free still: the next person of it may take one.
  await heading(page, 'Where do you sit?').waitFor();
  await expectNothingOf(page, [first], 'at the door', 5);
  await heading(second, 'Where do you sit?').waitFor();
  await expectNothingOf(second, [first], 'in the second tab', 5);
  await second.close();

  await page.goBack();
  await expectNothingOf(page, [first], 'by Back', 8);
  await page.goBack().catch(() => null);
  await expectNothingOf(page, [first], 'by Back twice', 8);
  await page.goForward();
  await page.goForward().catch(() => null);
  await expectNothingOf(page, [first], 'by Forward', 8);
  await page.goto(`${stage.address}/seat`);
  await heading(page, 'Where do you sit?').waitFor();
  await expectNothingOf(page, [first], 'opened anew');
  await page.reload();
  await heading(page, 'Where do you sit?').waitFor();
  await expectNothingOf(page, [first], 'after a reload', 5);
  await page.goto(`${stage.address}/seat#seat.${seatToken}`);
  await heading(page, 'This tablet has no seat now').waitFor();
  const others = first.secrets.filter((secret) => secret !== seatToken);
  await expectNothingOf(page, [{ ...first, secrets: others }], 'by the address of before', 5);
  await page.goto(`${stage.address}/seat`);
  await page.reload();
  await heading(page, 'Where do you sit?').waitFor();
});

test('a tablet before a wave that is not called says so, and goes on by itself', async () => {
  const third = await taste(tablets[2]!.page, 3);
  const fourth = await taste(tablets[3]!.page, 4);
  await finish(tablets[2]!.page, third);
  const { page } = tablets[0]!;
  await heading(page, 'Wave 2 is not called yet').waitFor();
  await look(page, 'not-called-yet');
  await look(bench, 'board-first-wave');
  // Somebody is still at it: whoever calls is told.
  await press(bench, 'Call wave 2…');
  await bench.getByRole('dialog').getByText('Seat 4 has not finished.').waitFor();
  await look(bench, 'call-asked');
  await bench.getByRole('dialog').getByRole('button', { name: 'Not yet' }).click();
  await finish(tablets[3]!.page, fourth);
  await bench.getByText('Everybody who sat down in wave 1 has finished.').waitFor();
  for (const at of [1, 2, 3]) {
    await handOn(tablets[at]!.page);
    await heading(tablets[at]!.page, 'Wave 2 is not called yet').waitFor();
  }
  for (const { page: tablet } of tablets) await expectNothingOf(tablet, people, 'between the waves');
  await callNext(2);
  await Promise.all(tablets.map(({ page: tablet }) => heading(tablet, 'Where do you sit?').waitFor()));
  for (const { page: tablet } of tablets) await expectNothingOf(tablet, people, 'at the second door');
  await tablets[0]!.page.getByText('Wave 2 of 4 sits down now.').waitFor();
  expect(await tablets[0]!.page.getByRole('radio').count()).toBe(4);
  await look(tablets[0]!.page, 'door-second-wave');
});

test('the others follow, wave by wave, and whoever pours sees whose cups come next', async () => {
  const cellar = await stage.signedIn('Steward', SIZES.laptop);
  await cellar.goto(`${stage.address}/bench/session/${open.id}/pour`);
  await cellar.getByRole('heading', { name: 'Wave 2, seats 5 to 8, called now' }).first().waitFor();
  await look(cellar, 'pour-list');
  await cellar.getByRole('navigation', { name: 'Waves' }).getByRole('link', { name: 'Wave 4' }).click();
  await cellar.getByRole('heading', { name: 'Wave 4, seats 13 to 15' }).first().waitFor();
  await expect.poll(() => cellar.getByRole('heading', { name: /Wave 2/ }).count()).toBe(0);
  await cellar.goto(`${stage.address}/bench/session/${open.id}/pour/trays`);
  await cellar.getByRole('heading', { name: 'Wave 4, seats 13 to 15' }).waitFor();
  await look(cellar, 'tray-map');
  await cellar.goto(`${stage.address}/bench/session/${open.id}/pour/labels`);
  await cellar
    .getByText(/wave 2 · seat \d/)
    .first()
    .waitFor();
  await look(cellar, 'labels');
  await cellar.goto(`${stage.address}/bench/session/${open.id}/pour`);

  for (const [number, seats] of [
    [2, [5, 6, 7, 8]],
    [3, [9, 10, 11, 12]],
    [4, [13, 14, 15]],
  ] as const) {
    if (number > 2) {
      await callNext(number);
      await cellar
        .getByRole('heading', { name: new RegExp(`Wave ${number}, .*called now`) })
        .first()
        .waitFor();
    }
    const before = [...people];
    await wave(seats);
    for (const [at] of seats.entries())
      await expectNothingOf(tablets[at]!.page, before, `at the end of wave ${number}`);
    if (number === 3) await look(bench, 'board-third-wave');
    for (const [at] of seats.entries()) await handOn(tablets[at]!.page);
    const door = number === 4 ? 'No seat is free' : `Wave ${number + 1} is not called yet`;
    for (const { page } of tablets) await heading(page, door).waitFor();
    for (const { page } of tablets) await expectNothingOf(page, people, `after wave ${number}`);
  }
  await look(bench, 'board-last-wave');
  expect(await bench.getByRole('button', { name: /Call wave/ }).count()).toBe(0);
});

test('every one of the fifteen answers is there, each as its person gave it, and balance was kept', async () => {
  expect(people.map(({ seat }) => seat).toSorted((a, b) => a - b)).toEqual(
    Array.from({ length: PEOPLE }, (_, at) => at + 1),
  );
  for (const { receipt, place, comment, seat } of people) {
    const view = await receipt.ok<ReceiptView>('GET', '/api/receipt');
    expect(
      view.comments.map(({ text }) => text),
      `seat ${seat}`,
    ).toEqual([comment]);
    expect(
      view.answers.filter(({ value }) => value === 1).map(({ position }) => position),
      `seat ${seat}`,
    ).toEqual([place]);
  }
  await press(bench, 'Close tasting…');
  const dialog = bench.getByRole('dialog');
  expect(await dialog.getByText(/never called/).count()).toBe(0);
  await dialog.getByRole('button', { name: 'Close tasting' }).click();
  await press(bench, 'Reveal…');
  await bench.getByRole('dialog').getByRole('button', { name: 'Reveal' }).click();
  await bench
    .getByRole('link', { name: /result/i })
    .first()
    .waitFor();
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${open.id}/result`);
  const [part] = result.parts;
  expect(part?.served).toEqual({ seated: PEOPLE, assessors: PEOPLE, answers: PEOPLE, unanswered: 0 });
  const right = people.filter(({ seat, chosen }) => odd.get(`${seat}/1`) === chosen).length;
  expect(part?.kind === 'triangle' && part.test.counted).toBe(right);
  // ISO 4120: six orders; fifteen people get each of them twice or three times.
  expect(part?.kind === 'triangle' && part.orders.rows.map(({ served }) => served).toSorted()).toEqual([
    2, 2, 2, 3, 3, 3,
  ]);
  expect(result.session.waves).toEqual({ called: 4, seatsAtOnce: TABLETS });
  await bench.goto(`${stage.address}/bench/session/${open.id}/result`);
  await bench.getByText('People tasted in four waves of at most four').first().waitFor();
  await bench.getByRole('button', { name: 'Skip' }).click();
  await look(bench, 'result');
  expect(stage.errors).toEqual([]);
});
