import { Worker } from 'node:worker_threads';
import type { FastifyBaseLogger } from 'fastify';
import type { FromPages, PageAnswer, PageQuestion, ToPages } from './pages-message.ts';

export type PageMade = PageAnswer & { body: Buffer };

export interface PagesOptions {
  /** The built pages, as a module that exports their handler. */
  built: URL;
  /** Answers what a page asks the API while it is made. */
  answer: (question: PageQuestion) => Promise<PageAnswer & { payload: string }>;
  log: Pick<FastifyBaseLogger, 'warn'>;
  thread?: URL;
  /** How long one page may take. */
  workMs?: number;
  /** Without a page for so long the thread ends, and gives its memory back. */
  idleMs?: number;
}

interface Job {
  resolve: (made: PageMade) => void;
  reject: (reason: Error) => void;
}

const WORK_MS = 60_000;
const IDLE_MS = 5 * 60_000;
const HEAP_MB = 512;

/**
 * Makes the pages that anybody may read in a thread of their own: a long article takes most of a second, in which no seat
 * and no board would be answered. The thread starts with the first page and ends when nobody reads.
 */
export class Pages {
  readonly #options: Required<PagesOptions>;
  readonly #jobs = new Map<number, Job>();
  #worker: Worker | null = null;
  #next = 1;
  #idle: NodeJS.Timeout | undefined;

  constructor(options: PagesOptions) {
    const thread = new URL('./pages-thread.ts', import.meta.url);
    this.#options = { thread, workMs: WORK_MS, idleMs: IDLE_MS, ...options };
  }

  /** Rejects where the thread ended, or took too long: whoever asked makes it some other way. */
  make(question: PageQuestion): Promise<PageMade> {
    clearTimeout(this.#idle);
    this.#worker ??= this.#start();
    const id = this.#next++;
    return new Promise<PageMade>((resolve, reject) => {
      const late = setTimeout(() => {
        this.#gone(this.#worker, new Error(`a page took longer than ${this.#options.workMs / 1000} s`));
      }, this.#options.workMs).unref();
      const settled = (): void => {
        clearTimeout(late);
        this.#jobs.delete(id);
        if (this.#jobs.size === 0) this.#idle = setTimeout(() => this.#end(), this.#options.idleMs).unref();
      };
      this.#jobs.set(id, {
        resolve: (made) => {
          settled();
          resolve(made);
        },
        reject: (reason) => {
          settled();
          reject(reason);
        },
      });
      this.#tell({ id, make: question });
    });
  }

  async close(): Promise<void> {
    clearTimeout(this.#idle);
    const worker = this.#worker;
    this.#gone(worker, new Error('the server is closing'));
    clearTimeout(this.#idle);
    await worker?.terminate();
  }

  #tell(message: ToPages): void {
    this.#worker?.postMessage(message);
  }

  #end(): void {
    const worker = this.#worker;
    this.#worker = null;
    void worker?.terminate();
  }

  #start(): Worker {
    const { thread, built, log } = this.#options;
    const worker = new Worker(thread, {
      workerData: built.href,
      resourceLimits: { maxOldGenerationSizeMb: HEAP_MB },
    });
    worker.unref();
    worker.on('message', (message: FromPages) => {
      if (worker !== this.#worker) return;
      const { id } = message;
      if ('made' in message) {
        const { status, headers, body } = message.made;
        this.#jobs.get(id)?.resolve({ status, headers, body: Buffer.from(body.buffer) });
      } else if ('failed' in message) this.#jobs.get(id)?.reject(new Error(message.failed));
      else void this.#answer(id, message.ask);
    });
    const gone = (reason: Error): void => {
      if (worker !== this.#worker) return;
      log.warn({ err: reason }, 'the thread that makes pages for readers ended');
      this.#gone(worker, reason);
    };
    worker.on('error', gone);
    worker.on('exit', (code) => gone(new Error(`it ended with ${code}`)));
    return worker;
  }

  async #answer(id: number, question: PageQuestion): Promise<void> {
    const said = await this.#options.answer(question).catch((reason: unknown) => {
      this.#options.log.warn({ err: reason }, 'a page for readers asked in vain');
      return { status: 500, headers: {}, payload: '' };
    });
    this.#tell({ id, said });
  }

  #gone(worker: Worker | null, reason: Error): void {
    if (worker !== this.#worker) return;
    this.#worker = null;
    void worker?.terminate();
    for (const job of [...this.#jobs.values()]) job.reject(reason);
  }
}
