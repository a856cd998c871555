import { Worker } from 'node:worker_threads';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { AnalystMessage } from './analyst-message.ts';

interface Waiting {
  resolve: (document: ResultDocument) => void;
  reject: (reason: Error) => void;
}

/**
 * Works results out in a thread of its own: a full panel takes longer than the seats and boards of another tasting
 * should wait for. Started with the first result, ended with the app; one that dies is replaced.
 */
export class Analyst {
  #worker: Worker | null = null;
  #next = 1;
  readonly #waiting = new Map<number, Waiting>();

  /** Brings the thread up before its first result is asked for: loading takes as long as a result. */
  wake(): void {
    this.#worker ??= this.#start();
  }

  analyse(input: SessionInput): Promise<ResultDocument> {
    this.wake();
    const worker = this.#worker;
    const id = this.#next++;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      worker?.postMessage({ id, input });
    });
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    await worker?.terminate();
    this.#fail(new Error('the app is closing'));
  }

  #start(): Worker {
    const worker = new Worker(new URL('./analyst-thread.ts', import.meta.url));
    worker.unref();
    worker.on('message', (message: AnalystMessage) => {
      const waiting = this.#waiting.get(message.id);
      this.#waiting.delete(message.id);
      if ('document' in message) waiting?.resolve(message.document);
      else waiting?.reject(new Error(message.failed));
    });
    const gone = (reason: Error): void => {
      if (this.#worker === worker) this.#worker = null;
      this.#fail(reason);
    };
    worker.on('error', gone);
    worker.on('exit', (code) => gone(new Error(`the analysis ended with ${code}`)));
    return worker;
  }

  #fail(reason: Error): void {
    for (const { reject } of this.#waiting.values()) reject(reason);
    this.#waiting.clear();
  }
}
