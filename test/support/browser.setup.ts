import { bringBrowser } from './browser.ts';
import { settingUp } from './setup-error.ts';

/** Without a browser no evening can be played: the run ends here, in one line, instead of file by file. */
export default async function setup(): Promise<void> {
  await settingUp(bringBrowser);
}
