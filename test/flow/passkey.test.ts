import { mkdir } from 'node:fs/promises';
import { pathToFileURL } from 'node:url';
import AxeBuilder from '@axe-core/playwright';
import type { WebHandler } from '@oddglass/server/plugins/web.ts';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstHost, startServer, type TestServer } from '../support/app.ts';
import { launchBrowser, PLAIN_HTTP_NAME } from '../support/browser.ts';
import { PASSPHRASE } from '../support/factories.ts';

// A passkey in a real browser, whose authenticator is the browser's own virtual one.

const SIZES = { laptop: { width: 1440, height: 900 }, phone: { width: 390, height: 844 } };
const root = new URL('../../', import.meta.url).pathname;
const shots = `${root}test/.artifacts/passkey`;

let server: TestServer;
let address: string;
let browser: Browser;
let context: BrowserContext;
let page: Page;

beforeAll(async () => {
  await mkdir(shots, { recursive: true });
  process.env['WEB_PROTOCOL_HEADER'] = 'x-forwarded-proto';
  const { handler } = (await import(pathToFileURL(`${root}web/build/handler.js`).href)) as {
    handler: WebHandler;
  };
  server = await startServer({ webHandler: handler, clock: () => new Date() });
  address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
  browser = await launchBrowser();
  await firstHost(server.app);
  context = await browser.newContext({ viewport: SIZES.laptop, locale: 'en-GB' });
  page = await context.newPage();
  const devtools = await context.newCDPSession(page);
  await devtools.send('WebAuthn.enable');
  await devtools.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2',
      transport: 'internal',
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  });
});
afterAll(async () => {
  await browser?.close();
  await server?.close();
});

async function look(name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await page.setViewportSize(viewport);
    await page.screenshot({ path: `${shots}/${name}-${size}.png`, fullPage: true });
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(violations, `${name} ${size}`).toEqual([]);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth > innerWidth);
    expect(wide, `${name} ${size} is too wide`).toBe(false);
  }
  await page.setViewportSize(SIZES.laptop);
}

async function enterPassphrase(at = address): Promise<void> {
  await page.goto(`${at}/bench/sign-in`);
  await page.getByLabel('Name').fill('Host');
  await page.getByRole('textbox', { name: 'Passphrase' }).fill(PASSPHRASE);
  await page.getByRole('button', { name: 'Sign in' }).click();
}

async function signOut(): Promise<void> {
  await page.getByRole('button', { name: 'Sign out' }).click();
  await page.waitForURL(/\/bench\/sign-in/);
}

test('a passkey is added, signs in after the passphrase, and a recovery code does once', async () => {
  await enterPassphrase();
  await page.waitForURL(`${address}/bench`);
  await page.goto(`${address}/bench/account`);
  await look('none-yet');
  await page.getByRole('button', { name: 'Add a passkey' }).click();
  const dialog = page.getByRole('dialog', { name: 'Add a passkey' });
  await dialog.getByLabel('Name of the passkey').fill('This laptop');
  await dialog.getByRole('textbox', { name: 'Your passphrase' }).fill(PASSPHRASE);
  await look('add');
  await dialog.getByRole('button', { name: 'Add it' }).click();
  const codes = page.getByRole('list', { name: 'Recovery codes' }).getByRole('listitem');
  await codes.first().waitFor();
  await look('codes');
  const [code = ''] = await codes.allTextContents();
  expect(await codes.count()).toBe(10);
  await page.getByRole('button', { name: 'I have written them down' }).click();
  await page.getByText('10 recovery codes are left').waitFor();
  await look('added');
  await signOut();

  await enterPassphrase();
  await page.getByRole('heading', { name: 'One more step' }).waitFor();
  expect(new URL(page.url()).pathname).toBe('/bench/sign-in');
  await look('asked');
  await page.getByRole('button', { name: 'Use a passkey' }).click();
  await page.waitForURL(`${address}/bench`);
  await page.goto(`${address}/bench/account`);
  await page.getByText('with a passkey since').waitFor();
  await signOut();

  await enterPassphrase();
  await page.getByLabel('Recovery code').fill(code);
  await page.getByRole('button', { name: 'Use the code' }).click();
  await page.waitForURL(`${address}/bench`);
  await signOut();

  await enterPassphrase();
  await page.getByLabel('Recovery code').fill(code);
  await page.getByRole('button', { name: 'Use the code' }).click();
  await page.getByText('Try again, with another passkey').waitFor();
  await look('refused');

  // Where the browser has none, it says so calmly and takes a code.
  const plain = address.replace('localhost', PLAIN_HTTP_NAME);
  await enterPassphrase(plain);
  await page.getByText('Your passkeys do not work at this address').waitFor();
  await server.database.pool.query('delete from passkey');
  await enterPassphrase(plain);
  await page.waitForURL(`${plain}/bench`);
  await page.goto(`${plain}/bench/account`);
  await page.getByText('Passkeys need an encrypted connection').waitFor();
  expect(await page.getByRole('button', { name: 'Add a passkey' }).count()).toBe(0);
  await look('plain-http');
});
