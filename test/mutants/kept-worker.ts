import type { Worker } from 'node:worker_threads';
import { ThreadsPoolWorker, type PoolOptions, type PoolWorker, type WorkerRequest } from 'vitest/node';

// Most of the time of a mutant goes into loading the service anew. Here one thread is kept from mutant to mutant, with all
// that it has loaded; each file of tests is loaded anew, and starts a service and a database of its own. A mutant in what
// runs while a module loads is not seen that way and seems to live: those that lived are tried again, each in a thread of
// its own. What modules keep for themselves (tables of shared/stats) comes from code that no area mutates.

// What a mutant leaves behind is not kept for long.
const MUTANTS_A_THREAD = 40;

let parked: { thread: Worker; used: number } | undefined;

class KeptWorker extends ThreadsPoolWorker {
  #used = 0;

  get #own(): { _thread: Worker | undefined } {
    // Private to vitest, and the one thing to be handed on.
    return this as unknown as { _thread: Worker | undefined };
  }

  override async start(): Promise<void> {
    if (parked) {
      this.#own._thread = parked.thread;
      this.#used = parked.used;
      parked = undefined;
    }
    await super.start();
  }

  override send(message: WorkerRequest): void {
    if (message.type !== 'stop' || this.#spent()) return super.send(message);
    // The thread hears nothing of it and stays as it is.
    const thread = this.#own._thread;
    queueMicrotask(() => thread?.emit('message', { type: 'stopped', __vitest_worker_response__: true }));
  }

  override async stop(): Promise<void> {
    const thread = this.#own._thread;
    if (!thread || this.#spent()) return super.stop();
    for (const event of ['message', 'error', 'exit']) thread.removeAllListeners(event);
    thread.stdout.unpipe();
    thread.stderr.unpipe();
    parked = { thread, used: this.#used + 1 };
    this.#own._thread = undefined;
  }

  #spent(): boolean {
    return this.#used >= MUTANTS_A_THREAD;
  }
}

export const keptWorkers = {
  name: 'kept',
  createPoolWorker: (options: PoolOptions): PoolWorker => new KeptWorker(options),
};
