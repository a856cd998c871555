import { Worker } from 'node:worker_threads';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { problem } from '../refusal/problem.ts';
import type { AnalystMessage } from './analyst-message.ts';

interface Job {
  input: SessionInput;
  resolve: (document: ResultDocument) => void;
  reject: (reason: Error) => void;
  /** How often a thread has died over it. */
  deaths: number;
}

export interface AnalystOptions {
  /** The program of the thread. */
  thread?: URL;
  /** How long one result may take: the largest takes seconds; what takes this long does not end. */
  limitMs?: number;
  log?: { warn(details: object, message: string): void };
}

const THREAD = new URL('./analyst-thread.ts', import.meta.url);
const LIMIT_MS = 120_000;
// A thread may die of something else than the result in hand; twice over the same one is no accident.
const DEATHS_AT_MOST = 2;

/**
 * Works results out in a thread of its own, one after another: a full panel takes longer than the seats and boards of
 * another tasting should wait for. Started with the first result, ended with the app. One that dies, or does not come to
 * an end, is replaced: the result in hand is tried once more, those that wait are not touched.
 */
export class Analyst {
  readonly #thread: URL;
  readonly #limitMs: number;
  readonly #log: AnalystOptions['log'];
  readonly #waiting: Job[] = [];
  #worker: Worker | null = null;
  #inHand: Job | null = null;
  #timer: NodeJS.Timeout | undefined;
  #closed = false;

  constructor({ thread = THREAD, limitMs = LIMIT_MS, log }: AnalystOptions = {}) {
    this.#thread = thread;
    this.#limitMs = limitMs;
    this.#log = log;
  }

  /** Brings the thread up before its first result is asked for: loading takes as long as a result. */
  wake(): void {
    if (!this.#closed) this.#worker ??= this.#start();
  }

  /** @throws Problem `analysis-away` when no thread brings this result to an end, or the app is closing. */
  analyse(input: SessionInput): Promise<ResultDocument> {
    if (this.#closed) return Promise.reject(problem('analysis-away'));
    return new Promise((resolve, reject) => {
      this.#waiting.push({ input, resolve, reject, deaths: 0 });
      this.#next();
    });
  }

  async close(): Promise<void> {
    this.#closed = true;
    clearTimeout(this.#timer);
    const [worker, jobs] = [this.#worker, [this.#inHand, ...this.#waiting.splice(0)]];
    this.#worker = null;
    this.#inHand = null;
    for (const job of jobs) job?.reject(problem('analysis-away'));
    await worker?.terminate();
  }

  #next(): void {
    if (this.#inHand || this.#closed) return;
    const job = this.#waiting.shift();
    if (!job) return;
    this.wake();
    this.#inHand = job;
    this.#worker?.ref();
    this.#timer = setTimeout(() => void this.#worker?.terminate(), this.#limitMs);
    this.#worker?.postMessage({ input: job.input });
  }

  /** The job in hand, which is then no longer. */
  #settle(): Job | null {
    clearTimeout(this.#timer);
    const job = this.#inHand;
    this.#inHand = null;
    this.#worker?.unref();
    return job;
  }

  #start(): Worker {
    const worker = new Worker(this.#thread);
    worker.unref();
    worker.on('message', (message: AnalystMessage) => {
      const job = this.#settle();
      if ('document' in message) {
        // Revealed by now: a path says nothing of a cup.
        for (const gap of message.gaps)
          this.#log?.warn({ session: message.document.session.fingerprint, ...gap }, 'a result has a gap');
        job?.resolve(message.document);
      } else job?.reject(new Error(message.failed));
      this.#next();
    });
    const gone = (reason: Error | number): void => {
      if (this.#worker !== worker) return;
      this.#log?.warn(
        reason instanceof Error ? { err: reason } : { code: reason },
        'the analysis thread ended and is replaced',
      );
      this.#worker = null;
      const job = this.#settle();
      if (job && ++job.deaths < DEATHS_AT_MOST) this.#waiting.unshift(job);
      else job?.reject(problem('analysis-away'));
      this.#next();
    };
    worker.on('error', gone);
    worker.on('exit', gone);
    return worker;
  }
}
