import { Worker } from 'node:worker_threads';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Story, StoryInput } from '@oddglass/shared/contracts/story.ts';
import type { PackageFile } from '@oddglass/shared/publication/package.ts';
import { PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import type { FastifyBaseLogger } from 'fastify';
import { analysed, type Composing } from '../freeze/compose.ts';
import type { Frozen } from '../freeze/freeze.ts';
import { problem } from '../refusal/problem.ts';
import type { AnalystMessage, AnalystQuestion } from './analyst-message.ts';

export interface AnalystOptions {
  log: Pick<FastifyBaseLogger, 'warn'>;
  thread?: URL;
  /** How long one result may take. */
  workMs?: number;
  /** How long one may wait for those before it. */
  waitMs?: number;
  /** Memory its objects may take. */
  heapMb?: number;
}

type Answered = Exclude<AnalystMessage, { failed: string } | { refused: unknown }>;

interface Job {
  id: number;
  asked: AnalystQuestion;
  resolve: (message: Answered) => void;
  reject: (reason: Error) => void;
  starts: number;
  timer: NodeJS.Timeout | undefined;
}

// The largest panels take seconds; past this it is not slow, it is stuck.
const WORK_MS = 120_000;
const WAIT_MS = 120_000;
const HEAP_MB = 1_024;
// At the limit Node gives a thread 16 MB more to end in. What is moved out of the young objects at once has to fit in that, or
// the whole process is ended instead of the thread.
const YOUNG_MB = 12;
// A thread may die of something that passes, such as a machine short of memory; twice on the same input is the input.
const STARTS = 2;
const RETRY_AFTER_SECONDS = 30;

/**
 * Works results out, and puts publications together, in a thread of its own, one after another: a full panel takes longer than the seats and boards of
 * another tasting should wait for. Started with the first result, ended with the app. One that dies is replaced and
 * its work begun once more; one that does not come to an end is ended, and who waited for it is told.
 */
export class Analyst {
  readonly #options: Required<AnalystOptions>;
  readonly #queue: Job[] = [];
  #worker: Worker | null = null;
  #job: Job | null = null;
  #next = 1;
  #closed = false;

  constructor(options: AnalystOptions) {
    const thread = new URL('./analyst-thread.ts', import.meta.url);
    this.#options = { thread, workMs: WORK_MS, waitMs: WAIT_MS, heapMb: HEAP_MB, ...options };
  }

  /** Brings the thread up before its first result is asked for: loading takes as long as a result. */
  wake(): void {
    if (!this.#closed) this.#worker ??= this.#start();
  }

  /** Throws the problem `no-result` when the thread does not get it done, and what the analysis throws. */
  async analyse(input: SessionInput): Promise<ResultDocument> {
    const message = await this.#ask((id) => ({ id, input }));
    if (!('document' in message)) throw new Error('the thread answered something else');
    // Revealed by now: a path says nothing of a cup.
    for (const gap of message.gaps)
      this.#options.log.warn({ session: message.document.session.fingerprint, ...gap }, 'a result has a gap');
    return message.document;
  }

  /** The story of a trial; throws as `analyse`. */
  async tell(story: StoryInput): Promise<Story> {
    const message = await this.#ask((id) => ({ id, story }));
    if (!('story' in message)) throw new Error('the thread answered something else');
    return message.story;
  }

  /**
   * What readers would get, as text of JSON.
   * @throws PublicationRefused when it may not be published; otherwise as `analyse`.
   */
  async preview(composing: Composing): Promise<string> {
    await this.#prepare(composing);
    const message = await this.#ask((id) => ({ id, preview: composing }));
    if (!('preview' in message)) throw new Error('the thread answered something else');
    return message.preview;
  }

  /** A version with its files; throws as `preview`. */
  async freeze(composing: Composing, pageAt: string | null): Promise<Frozen> {
    await this.#prepare(composing);
    const message = await this.#ask((id) => ({ id, freeze: composing, pageAt }));
    if (!('frozen' in message)) throw new Error('the thread answered something else');
    return message.frozen;
  }

  /** Files as one ZIP: packing megabytes takes a while. */
  async zip(files: PackageFile[]): Promise<Uint8Array> {
    const message = await this.#ask((id) => ({ id, files }));
    if (!('zip' in message)) throw new Error('the thread answered something else');
    return message.zip;
  }

  /** One session after another, so that whoever waits for a result waits for one of them at the most. */
  async #prepare(composing: Composing): Promise<void> {
    for (const input of analysed(composing)) await this.#ask((id) => ({ id, prepare: input }));
  }

  #ask(question: (id: number) => AnalystQuestion): Promise<Answered> {
    if (this.#closed) return Promise.reject(problem('closing'));
    return new Promise((resolve, reject) => {
      const id = this.#next++;
      const job: Job = { id, asked: question(id), resolve, reject, starts: 0, timer: undefined };
      job.timer = setTimeout(() => {
        this.#queue.splice(this.#queue.indexOf(job), 1);
        reject(noResult('Others are being worked out before it.'));
      }, this.#options.waitMs).unref();
      this.#queue.push(job);
      this.#proceed();
    });
  }

  async close(): Promise<void> {
    this.#closed = true;
    const worker = this.#worker;
    this.#worker = null;
    for (const job of [this.#job, ...this.#queue.splice(0)]) {
      clearTimeout(job?.timer);
      job?.reject(problem('closing'));
    }
    this.#job = null;
    await worker?.terminate();
  }

  #proceed(): void {
    if (this.#job || this.#closed) return;
    const job = this.#queue.shift();
    if (!job) return;
    this.#job = job;
    job.starts += 1;
    clearTimeout(job.timer);
    job.timer = setTimeout(() => this.#abandon(), this.#options.workMs).unref();
    try {
      this.wake();
      this.#worker?.postMessage(job.asked);
    } catch (reason) {
      this.#settle(() => job.reject(reason instanceof Error ? reason : new Error(String(reason))));
    }
  }

  #start(): Worker {
    const worker = new Worker(this.#options.thread, {
      resourceLimits: { maxOldGenerationSizeMb: this.#options.heapMb, maxYoungGenerationSizeMb: YOUNG_MB },
    });
    worker.unref();
    worker.on('message', (message: AnalystMessage) => {
      const job = this.#job;
      // What is no answer to this is none of ours: under node --watch a thread also tells what it imports.
      if (worker !== this.#worker || job === null || job.id !== message.id) return;
      this.#settle(() => {
        if ('failed' in message) job.reject(new Error(message.failed));
        else if ('refused' in message) {
          const { field, reason, message: why } = message.refused;
          job.reject(new PublicationRefused(field, reason, why));
        } else job.resolve(message);
      });
    });
    worker.on('error', (reason) => this.#gone(worker, reason));
    worker.on('messageerror', (reason) => {
      this.#gone(worker, reason);
      void worker.terminate();
    });
    worker.on('exit', (code) => this.#gone(worker, new Error(`the analysis ended with ${code}`)));
    return worker;
  }

  #gone(worker: Worker, reason: unknown): void {
    if (worker !== this.#worker) return;
    this.#worker = null;
    const job = this.#job;
    const again = job !== null && job.starts < STARTS;
    this.#options.log.warn({ err: reason, again }, 'the thread that works out results ended');
    this.#settle(() => {
      if (again) this.#queue.unshift(job);
      else job?.reject(noResult('Working it out failed twice; the host finds why in the log.'));
    });
  }

  #abandon(): void {
    const worker = this.#worker;
    this.#worker = null;
    this.#options.log.warn(
      { seconds: this.#options.workMs / 1000 },
      'a result took too long and was given up',
    );
    void worker?.terminate();
    const job = this.#job;
    this.#settle(() => job?.reject(noResult('Working it out took too long; the host finds it in the log.')));
  }

  #settle(tell: () => void): void {
    clearTimeout(this.#job?.timer);
    this.#job = null;
    tell();
    this.#proceed();
  }
}

function noResult(why: string): Error {
  return problem('no-result', {
    detail: `${why} Every answer is stored: try again later.`,
    retryAfterSeconds: RETRY_AFTER_SECONDS,
  });
}
