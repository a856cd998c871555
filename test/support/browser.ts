import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { chromium, type Browser } from 'playwright-core';

const NAMES = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'];

/** Chromium as found on this machine: named, on the path, or Playwright's own. */
export function findBrowser(): string | undefined {
  const named = process.env['CHROMIUM_PATH'];
  if (named) return existsSync(named) ? named : undefined;
  const folders = (process.env['PATH'] ?? '').split(delimiter);
  const onPath = folders
    .flatMap((folder) => NAMES.map((name) => join(folder, name)))
    .find((file) => existsSync(file));
  if (onPath) return onPath;
  const own = chromium.executablePath();
  return existsSync(own) ? own : undefined;
}

/** Chromium, brought when it is not there: Playwright's download, else the Debian package when root. */
export function bringBrowser(): string {
  const named = process.env['CHROMIUM_PATH'];
  if (named && !existsSync(named))
    throw new Error(`No Chromium: CHROMIUM_PATH names ${named}, and there is none.`);
  const tries: [string, string[]][] = [
    [process.execPath, ['node_modules/playwright-core/cli.js', 'install', 'chromium']],
    ...(process.getuid?.() === 0
      ? ([
          ['apt-get', ['update']],
          ['apt-get', ['install', '-y', '--no-install-recommends', 'chromium']],
        ] as [string, string[]][])
      : []),
  ];
  for (const [command, args] of tries) {
    const found = findBrowser();
    if (found) return found;
    try {
      execFileSync(command, args, { stdio: 'ignore', timeout: 300_000 });
    } catch {
      // The next way is tried; the line below says what to do when all failed.
    }
  }
  const found = findBrowser();
  if (!found) throw new Error('No Chromium: install the package chromium, or name one in CHROMIUM_PATH.');
  return found;
}

/** A name for this machine that browsers do not trust as they trust localhost: what a tablet sees over plain http. */
export const PLAIN_HTTP_NAME = 'tablet.test';

/**
 * A headless Chromium that talks to this machine only. `keepsPages`: pages one leaves are kept whole for the way back, as
 * people's browsers do and Playwright does not by itself.
 */
export function launchBrowser(further: readonly string[] = [], keepsPages = false): Promise<Browser> {
  return chromium.launch({
    executablePath: bringBrowser(),
    ...(keepsPages && { ignoreDefaultArgs: ['--disable-back-forward-cache'] }),
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      `--host-resolver-rules=MAP ${PLAIN_HTTP_NAME} 127.0.0.1`,
      ...further,
    ],
  });
}
