type Step = () => unknown;

/** What has to be taken back when a start fails or a stop is asked for, last opened first. */
export class Undo {
  readonly #steps: Step[] = [];
  #running: Promise<void> | null = null;
  /** When it began, in ms since 1970; 0 before. */
  startedAt = 0;

  /** Returns a function that takes the step off the list again. */
  add(step: Step): () => void {
    // Opened while everything is being closed already: close it at once.
    if (this.#running) void attempt(step);
    else this.#steps.push(step);
    return () => {
      const at = this.#steps.indexOf(step);
      if (at >= 0) this.#steps.splice(at, 1);
    };
  }

  get started(): boolean {
    return this.#running !== null;
  }

  run(): Promise<void> {
    this.startedAt ||= Date.now();
    this.#running ??= (async () => {
      while (this.#steps.length > 0) await attempt(this.#steps.pop()!);
    })();
    return this.#running;
  }
}

// One step that fails must not keep the others, above all the database, from being closed.
async function attempt(step: Step): Promise<void> {
  try {
    await step();
  } catch (error) {
    console.error('Something did not close in order:', error);
  }
}
