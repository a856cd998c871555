import type { Page } from 'playwright-core';
import { PASSPHRASE } from './factories.ts';

/** Signs in by the page, once it runs: its button waits for that, and a form sent before would be lost. */
export async function signIn(page: Page, address: string, name: string): Promise<void> {
  await page.goto(`${address}/bench/sign-in`);
  await page.getByLabel('Name').fill(name);
  await page.getByLabel('Passphrase', { exact: true }).fill(PASSPHRASE);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.waitForURL(/\/bench$/);
}
