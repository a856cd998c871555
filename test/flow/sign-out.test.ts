import { setTimeout as wait } from 'node:timers/promises';
import { openDb } from '@oddglass/db/client.ts';
import { issuePassphraseToken } from '@oddglass/server/features/account/sign-in.service.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { randomBytes } from 'node:crypto';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, beforeEach, expect, test } from 'vitest';
import { Caller, draft, firstHost, invited, moved, newTrial, type Hosted } from '../support/app.ts';
import { PASSPHRASE } from '../support/factories.ts';
import { expectAccessible, expectFits, GOOD_PRACTICE, SIZES } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// A tablet goes from hand to hand: what one saw who signed out, the next one does not, by Back or any other way. In a
// browser that keeps pages whole for the way back, as people's do.

let context: BrowserContext;
let page: Page;
let open: SessionView;
let host: Hosted;

const stage = useStage('sign-out', { keepsPages: true });
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  await invited(host, 'steward', 'Steward');
  open = await moved(host, await draft(host, await newTrial(host)), 'seal', 'open');
});
beforeEach(async () => {
  await context?.close();
  context = await stage.browser.newContext({ viewport: SIZES.tablet, locale: 'en-GB', hasTouch: true });
  page = await context.newPage();
});

async function signIn(name: string): Promise<void> {
  await page.goto(`${stage.address}/bench/sign-in`);
  await page.getByLabel('Name').fill(name);
  await page.getByRole('textbox', { name: 'Passphrase' }).fill(PASSPHRASE);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.waitForURL(`${stage.address}/bench`);
}

const ARM = 'Coolvessel';
const shown = () => page.evaluate((arm) => document.body.innerText.includes(arm), ARM);

/** The pour list with its key, reached as a page of its own. */
async function pourList(): Promise<void> {
  await page.goto(`${stage.address}/bench/session/${open.id}/pour`);
  await page.getByText(ARM).first().waitFor();
  // The page runs.
  await expect.poll(() => page.getByRole('button', { name: 'Sign out' }).isEnabled()).toBe(true);
}

/** Whatever the browser shows in the next moments, it is not the key. */
async function neverShowsKey(): Promise<void> {
  for (let look = 0; look < 15; look++) {
    expect(await shown().catch(() => false)).toBe(false);
    await wait(100);
  }
}

test('after signing out on the pour list, Back shows no key', async () => {
  await signIn('Steward');
  await pourList();
  await page.getByRole('button', { name: 'Sign out' }).click();
  await page.waitForURL(/\/bench\/sign-in/);
  await page.goBack();
  await neverShowsKey();
  expect(page.url()).toContain('/bench/sign-in');
});

test('nor does Back from a page elsewhere, when the sign-in has ended meanwhile', async () => {
  await signIn('Steward');
  await pourList();
  await page.goto(`${stage.address}/seat`);
  await page.getByRole('heading').first().waitFor();
  const cookies = await context.cookies();
  await stage.server.app.inject({
    method: 'POST',
    url: '/api/sign-out',
    headers: { cookie: cookies.map(({ name, value }) => `${name}=${value}`).join('; ') },
  });
  await page.goBack();
  await page.waitForURL(/\/bench\/sign-in/);
  await neverShowsKey();
});

test('a page that the browser kept whole is loaded anew', async () => {
  await signIn('Steward');
  await pourList();
  await stage.server.database.pool.query('delete from signed_in');
  await page.evaluate(() => dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true })));
  await page.waitForURL(/\/bench\/sign-in/);
  expect(await shown()).toBe(false);
});

test('a board whose sign-in was ended elsewhere leaves for the sign-in page', async () => {
  await signIn('Host');
  const board = page.waitForEvent('websocket');
  await page.goto(`${stage.address}/bench/session/${open.id}`);
  await (await board).waitForEvent('framereceived');
  const other = new Caller(stage.server.app);
  await other.ok('POST', '/api/sign-in', { name: 'Host', passphrase: PASSPHRASE });
  const { signIns } = await other.ok<{ signIns: { id: string; here: boolean; device: string }[] }>(
    'GET',
    '/api/me/sign-ins',
  );
  const mine = signIns.find(({ here, device }) => !here && device === 'a computer');
  await other.ok('DELETE', `/api/me/sign-ins/${mine?.id}`);
  await page.waitForURL(/\/bench\/sign-in/);
});

test('every page of bench, seat and receipt says that it is not kept, and asks no other host', async () => {
  await signIn('Steward');
  for (const path of [
    '/bench',
    `/bench/session/${open.id}/pour`,
    '/seat',
    '/receipt',
    '/',
    '/bench/account',
  ]) {
    const answer = await page.goto(stage.address + path);
    expect(answer?.headers()['cache-control'], path).toBe('no-store');
    const policy = answer?.headers()['content-security-policy'] ?? '';
    const own = new URL(stage.address).host;
    expect(policy, path).toContain(`connect-src 'self' ws://${own}`);
    expect(policy.replaceAll(own, ''), path).not.toMatch(/wss?:(?!\/\/)|https?:|\*/);
    expect(answer?.headers()['permissions-policy'], path).toContain('camera=()');
  }
  const asset = await page.evaluate(
    () => document.querySelector<HTMLLinkElement>('link[href*="/_app/immutable/"]')?.href,
  );
  const kept = await context.request.get(asset ?? '');
  expect(kept.headers()['cache-control']).toContain('immutable');
});

/** Axe, and nothing wider than the screen, at every size. */
async function passes(name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await page.setViewportSize(viewport);
    await stage.picture(page, `${name}-${size}`);
    await expectAccessible(page, name, GOOD_PRACTICE);
    await expectFits(page, name);
  }
}

test('the account page lists where one is signed in, and ends what is not wanted', async () => {
  await stage.server.database.pool.query('delete from signed_in');
  await stage.server.app.inject({
    method: 'POST',
    url: '/api/sign-in',
    payload: { name: 'Host', passphrase: PASSPHRASE },
    headers: { 'user-agent': 'Mozilla/5.0 (Android 15; Tablet; rv:140.0)' },
  });
  await signIn('Host');
  await page.goto(`${stage.address}/bench/account`);
  const list = page.getByRole('list', { name: 'Where you are signed in' });
  await expect.poll(() => list.getByRole('listitem').count()).toBe(2);
  expect(await list.getByRole('listitem').first().innerText()).toContain('This browser');
  await passes('account');
  await list.getByRole('button', { name: 'End the sign-in of a tablet' }).click();
  await expect.poll(() => list.getByRole('listitem').count()).toBe(1);
  expect(await page.getByRole('status').filter({ hasText: 'ended' }).count()).toBe(1);
  await passes('account-one');
});

test('a link from whoever runs the machine leads to a new passphrase', async () => {
  const token = await issuePassphraseToken(
    {
      db: openDb(stage.server.database.pool),
      clock: () => new Date(),
      random: { bytes: (count) => new Uint8Array(randomBytes(count)) },
    },
    'Steward',
  );
  await page.goto(`${stage.address}/bench/passphrase#${token}`);
  await page.getByRole('button', { name: 'Set the passphrase' }).waitFor();
  await expect.poll(() => page.url()).not.toContain(token);
  const field = page.getByRole('textbox', { name: 'New passphrase' });
  await field.fill('steward steward');
  await page.getByRole('button', { name: 'Set the passphrase' }).click();
  await page.getByText('easily guessed').first().waitFor();
  await passes('passphrase');
  await field.fill('five other words this time');
  await page.getByRole('button', { name: 'Set the passphrase' }).click();
  await page.waitForURL(`${stage.address}/bench`);
  await page.goto(`${stage.address}/bench/passphrase`);
  await page.getByText('The link is not complete').waitFor();
  await passes('passphrase-none');
});
