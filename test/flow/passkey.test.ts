import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { firstHost } from '../support/app.ts';
import { PLAIN_HTTP_NAME } from '../support/browser.ts';
import { PASSPHRASE } from '../support/factories.ts';
import { expectAccessible, expectFits, SIZES } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// A passkey in a real browser, whose authenticator is the browser's own virtual one.

let context: BrowserContext;
let page: Page;

const stage = useStage('passkey');
beforeAll(async () => {
  await firstHost(stage.server.app);
  context = await stage.browser.newContext({ viewport: SIZES.laptop, locale: 'en-GB' });
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

async function look(name: string): Promise<void> {
  for (const [size, viewport] of Object.entries({ laptop: SIZES.laptop, phone: SIZES.phone })) {
    await page.setViewportSize(viewport);
    await stage.picture(page, `${name}-${size}`);
    await expectAccessible(page, `${name} ${size}`);
    await expectFits(page, `${name} ${size}`);
  }
  await page.setViewportSize(SIZES.laptop);
}

async function enterPassphrase(at = stage.address): Promise<void> {
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
  await page.waitForURL(`${stage.address}/bench`);
  await page.goto(`${stage.address}/bench/account`);
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
  await page.waitForURL(`${stage.address}/bench`);
  await page.goto(`${stage.address}/bench/account`);
  await page.getByText('with a passkey since').waitFor();
  await signOut();

  await enterPassphrase();
  await page.getByLabel('Recovery code').fill(code);
  await page.getByRole('button', { name: 'Use the code' }).click();
  await page.waitForURL(`${stage.address}/bench`);
  await signOut();

  await enterPassphrase();
  await page.getByLabel('Recovery code').fill(code);
  await page.getByRole('button', { name: 'Use the code' }).click();
  await page.getByText('Try again, with another passkey').waitFor();
  await look('refused');

  // Where the browser has none, it says so calmly and takes a code.
  const plain = stage.address.replace('localhost', PLAIN_HTTP_NAME);
  await enterPassphrase(plain);
  await page.getByText('Your passkeys do not work at this address').waitFor();
  await stage.server.database.pool.query('delete from passkey');
  await enterPassphrase(plain);
  await page.waitForURL(`${plain}/bench`);
  await page.goto(`${plain}/bench/account`);
  await page.getByText('Passkeys need an encrypted connection').waitFor();
  expect(await page.getByRole('button', { name: 'Add a passkey' }).count()).toBe(0);
  await look('plain-http');
});
