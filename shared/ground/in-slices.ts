import { finiteFrom } from './input.ts';

/** Work cut into steps: each `next()` does one and may throw; the last returns the result. */
export type Steps<T> = Generator<undefined, T, undefined>;

/**
 * Does work step by step and lets others have a turn whenever `longest` milliseconds have gone by, so that long analyses
 * hold up neither the server's event loop nor a page. A step itself is never cut: nothing else runs for `longest` plus one
 * step at most. The result does not depend on where the pauses fall.
 *
 * `pause` resolves after others had their turn (setImmediate in the server, a message or timer in a page; a promise that is
 * already resolved lets nobody in); `now` is a clock in milliseconds that never goes back; longest from 0 (a pause after
 * every step). Errors: StatsInputError for longest; whatever a step throws. When `pause` rejects (to stop the work), the
 * steps are closed and its reason is thrown.
 */
export async function inSlices<T>({
  steps,
  pause,
  now,
  longest,
}: {
  steps: Steps<T>;
  pause: () => Promise<void>;
  now: () => number;
  longest: number;
}): Promise<T> {
  finiteFrom('longest', longest, 0);
  let started = now();
  try {
    for (;;) {
      const step = steps.next();
      if (step.done) return step.value;
      if (now() - started < longest) continue;
      await pause();
      started = now();
    }
  } finally {
    // Nothing to close when the steps came to their end.
    steps.return(undefined as never);
  }
}

/**
 * The same work at once, for a worker or a script. Errors: whatever a step throws.
 * Example: `atOnce((function* () { yield; return 7; })())` is 7
 */
export function atOnce<T>(steps: Steps<T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}
