import { setTimeout as wait } from 'node:timers/promises';

// A bound for what never comes; nothing is measured by it.
const BOUND_MS = 15_000;

/** Waits for what has to come, and says what it was when it does not. */
export async function until(what: string, done: () => boolean | Promise<boolean>): Promise<void> {
  for (let waited = 0; waited < BOUND_MS; waited += 25) {
    if (await done()) return;
    await wait(25);
  }
  throw new Error(`it never came to this: ${what}`);
}
