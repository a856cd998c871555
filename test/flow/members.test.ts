import type { InvitationView } from '@oddglass/shared/contracts/account.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { BrowserContext, Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { draft, firstHost, invited, moved, newTrial, strangeHost, type Hosted } from '../support/app.ts';
import { expectAccessible, SIZES, WCAG } from '../support/looking.ts';
import { useStage } from '../support/stage.ts';

// Who is of a panel, by the pages: invitations that are open, members who go, and somebody who has an account already.

let host: Hosted;
let steward: Hosted;
let sealed: SessionView;
let page: Page;

const stage = useStage('members');
beforeAll(async () => {
  host = await firstHost(stage.server.app);
  steward = await invited(host, 'steward', 'Steward');
  sealed = await moved(host, await draft(host, await newTrial(host)), 'seal');
  page = await (await contextOf(host)).newPage();
});

const contextOf = (who: Hosted): Promise<BrowserContext> =>
  stage.browserOf(who, { viewport: SIZES.laptop, locale: 'en-GB' });

async function looked(at: Page, name: string): Promise<void> {
  for (const [size, viewport] of Object.entries(SIZES)) {
    await at.setViewportSize(viewport);
    await stage.picture(at, `${name}-${size}`);
  }
  await at.setViewportSize(SIZES.laptop);
  await expectAccessible(at, name, WCAG);
}

const panelPage = () => `${stage.address}/bench/panel/${host.panel}`;

test('an invitation is made, stands in the list, and is revoked after one question', async () => {
  await page.goto(panelPage());
  await page.getByText('None. Every link was used').waitFor();
  await page.getByRole('button', { name: 'Invite a steward' }).click();
  await page.getByRole('textbox', { name: 'Link for a steward' }).waitFor();
  await page.getByRole('dialog').getByRole('button', { name: 'Done' }).click();
  await page.getByText('For a steward, by Host').waitFor();
  await looked(page, 'panel');
  await page.getByRole('button', { name: 'Revoke the invitation for a steward' }).click();
  await looked(page, 'revoke');
  await page.getByRole('dialog').getByRole('button', { name: 'Revoke' }).click();
  await page.getByText('None. Every link was used').waitFor();
});

test('a list that cannot be read says so, and is looked at again', async () => {
  await page.route('**/invitations', (route) => route.abort());
  await page.goto(panelPage());
  await page.getByText('The server did not answer').waitFor();
  await page.unroute('**/invitations');
  await page.getByRole('button', { name: 'Look again' }).click();
  await page.getByText('None. Every link was used').waitFor();
});

test('a board names who opened the key while it is looked at, and a removed steward is out', async () => {
  await page.goto(`${stage.address}/bench/session/${sealed.id}`);
  await page.getByText('Nobody so far.').waitFor();
  const theirs = await (await contextOf(steward)).newPage();
  await theirs.goto(`${stage.address}/bench/session/${sealed.id}/pour`);
  const readers = page.getByRole('region', { name: 'Who opened the key' });
  await expect.poll(() => readers.innerText()).toMatch(/Steward\s+first \d+ \w+ \d{4}, \d\d:\d\d/);
  await looked(page, 'key-readers');

  await theirs.goto(`${stage.address}/bench/session/${sealed.id}`);
  await page.goto(panelPage());
  await page.getByRole('button', { name: 'Remove Steward from the panel' }).click();
  await looked(page, 'remove');
  await page.getByRole('dialog').getByRole('button', { name: 'Remove' }).click();
  await page.getByText('Steward is out of the panel.').waitFor();
  // The only host cannot go.
  await expect.poll(() => page.getByRole('button', { name: /from the panel$/ }).count()).toBe(0);
  // Their open page says so by itself, without a touch.
  await expect.poll(() => theirs.locator('body').innerText()).not.toContain('Who opened the key');
});

test('somebody signed in elsewhere joins with the account they have', async () => {
  const stranger = await strangeHost(host);
  const { token } = await host.caller.ok<InvitationView>('POST', `/api/panels/${host.panel}/invitations`, {
    role: 'steward',
  });
  const theirs = await (await contextOf(stranger)).newPage();
  await theirs.goto(`${stage.address}/bench/invitation#${token}`);
  await theirs.getByRole('button', { name: 'Join as Stranger' }).waitFor();
  await looked(theirs, 'invitation');
  await theirs.getByRole('button', { name: 'Join as Stranger' }).click();
  await theirs.getByText('Panel of Host').first().waitFor();

  const again = await (await contextOf(stranger)).newPage();
  await again.goto(`${stage.address}/bench/invitation#${token}`);
  await again.getByRole('button', { name: 'Join as Stranger' }).click();
  await again.getByRole('alert').filter({ hasText: 'Ask for a new link' }).waitFor();
});
