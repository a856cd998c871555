import { monitorEventLoopDelay } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import { Worker } from 'node:worker_threads';
import { atOnce, inSlices } from '@oddglass/shared/ground/in-slices.ts';
import { TASKS, type BenchInput, type TaskName } from './bench-tasks.ts';

/** How a task is run: at once, in slices on the same thread, or on a thread of its own. */
export const WAYS = ['inline', 'slices', 'worker'] as const;
export type Way = (typeof WAYS)[number];

export interface LoopOutcome {
  ms: number;
  /** Longest time in milliseconds that this thread computed without a turn for others: processor time, whatever else runs. */
  held: number;
  /** Longest the event loop stood still by the clock, in milliseconds: with what other programs on the machine take. */
  still: number;
  numbers: number[];
}

/** Milliseconds of work between two pauses. */
export const SLICE = 15;

/** Runs `work` and watches the event loop of this thread. `work` calls `turn` when others had a turn. */
export async function watched(
  work: (turn: () => void) => number[] | Promise<number[]>,
): Promise<LoopOutcome> {
  const delays = monitorEventLoopDelay({ resolution: 1 });
  delays.enable();
  // The histogram's own timer has to have ticked before and after.
  await wait(5);
  let held = 0;
  let since = process.threadCpuUsage();
  const turn = () => {
    const { user, system } = process.threadCpuUsage(since);
    held = Math.max(held, (user + system) / 1000);
    since = process.threadCpuUsage();
  };
  // Each tick is a turn for others as well.
  const ticks = setInterval(turn, 2);
  const started = performance.now();
  const numbers = await work(turn);
  const ms = performance.now() - started;
  turn();
  clearInterval(ticks);
  await wait(5);
  delays.disable();
  return { ms, held, still: delays.max / 1e6, numbers };
}

/** One run of a task in its way. */
export type Runner = (way: Way, name: TaskName, input: BenchInput) => Promise<LoopOutcome>;

/** Keeps one worker for all runs of `use`. */
export async function withRunner<T>(use: (run: Runner) => Promise<T>): Promise<T> {
  const worker = new Worker(new URL('./bench-worker.ts', import.meta.url));
  const answer = (name: TaskName, input: BenchInput) =>
    new Promise<number[]>((resolve, reject) => {
      worker.once('message', (numbers: number[]) => {
        worker.off('error', reject);
        resolve(numbers);
      });
      worker.once('error', reject);
      worker.postMessage({ name, input });
    });
  const ways: Record<
    Way,
    (turn: () => void, ...task: [TaskName, BenchInput]) => number[] | Promise<number[]>
  > = {
    inline: (_turn, name, input) => atOnce(TASKS[name](input)),
    slices: (turn, name, input) =>
      inSlices({
        steps: TASKS[name](input),
        pause: async () => {
          turn();
          await new Promise((resolve) => setImmediate(resolve));
        },
        now: () => performance.now(),
        longest: SLICE,
      }),
    worker: (_turn, name, input) => answer(name, input),
  };
  try {
    return await use((way, name, input) => watched((turn) => ways[way](turn, name, input)));
  } finally {
    await worker.terminate();
  }
}
