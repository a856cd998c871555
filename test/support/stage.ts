import { mkdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { loadPages } from '@oddglass/server/boot/open-server.ts';
import type { Browser, BrowserContext, BrowserContextOptions, Page, ViewportSize } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { startServer, type Hosted, type TestServer } from './app.ts';
import { launchBrowser } from './browser.ts';
import { signIn } from './sign-in.ts';

/** Where the built pages are: those for readers are made in a thread, as in the service. */
export const BUILT_PAGES = new URL('../../web/build/handler.js', import.meta.url);

export interface StageOptions {
  /** Does the service's clock follow the real one, as browsers' clocks do, or stand until a test moves it? */
  clock?: 'real' | 'moved';
  /** Are pages that one leaves kept whole for the way back? */
  keepsPages?: boolean;
}

/** What a file of walks plays on: the service with its pages as they are built, and a browser. */
export class Stage {
  server!: TestServer;
  browser!: Browser;
  /** Where the pages are: this machine by the name that browsers trust. */
  address!: string;
  /** The folder for pictures of this file. */
  readonly shots: string;
  /** What broke on the pages of `newPage`. */
  readonly errors: string[] = [];

  constructor(name: string) {
    this.shots = fileURLToPath(new URL(`../.artifacts/${name}`, import.meta.url));
  }

  async open({ clock = 'real', keepsPages = false }: StageOptions): Promise<void> {
    await mkdir(this.shots, { recursive: true });
    this.server = await startServer({
      webHandler: await loadPages(),
      builtPages: BUILT_PAGES,
      ...(clock === 'real' && { clock: () => new Date() }),
    });
    const at = await this.server.app.listen({ port: 0, host: '127.0.0.1' });
    this.address = at.replace('127.0.0.1', 'localhost');
    this.browser = await launchBrowser([], keepsPages);
  }

  async close(): Promise<void> {
    await this.browser?.close();
    await this.server?.close();
  }

  /** A picture for people to look at, `name`.png; only where PICTURES asks for them, since no test reads them. */
  async picture(page: Page, name: string, fullPage = true): Promise<void> {
    if (process.env['PICTURES']) await page.screenshot({ path: `${this.shots}/${name}.png`, fullPage });
  }

  /** A browser in which somebody is signed in already. */
  async browserOf({ caller }: Hosted, device: BrowserContextOptions = {}): Promise<BrowserContext> {
    const context = await this.browser.newContext(device);
    const [name = '', value = ''] = (caller.cookie ?? '').split('=');
    await context.addCookies([{ name, value, url: this.address }]);
    return context;
  }

  /** A page in a device of its own; what breaks on it is noted in `errors`. */
  async newPage(viewport: ViewportSize, device: BrowserContextOptions = {}): Promise<Page> {
    const page = await (await this.browser.newContext({ viewport, ...device })).newPage();
    page.on('pageerror', ({ message }) => this.errors.push(message));
    return page;
  }

  /** The same, where somebody has signed in by the page. */
  async signedIn(name: string, viewport: ViewportSize, device: BrowserContextOptions = {}): Promise<Page> {
    const page = await this.newPage(viewport, device);
    await signIn(page, this.address, name);
    return page;
  }
}

/** A stage for all tests of the file that asks: there before its own hooks run, and closed after its tests. */
export function useStage(name: string, options: StageOptions = {}): Stage {
  const stage = new Stage(name);
  beforeAll(() => stage.open(options));
  afterAll(() => stage.close());
  return stage;
}
