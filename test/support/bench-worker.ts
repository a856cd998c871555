import { parentPort } from 'node:worker_threads';
import { atOnce } from '@oddglass/shared/ground/in-slices.ts';
import { TASKS, type BenchInput, type TaskName } from './bench-tasks.ts';

// A worker as a server would keep one: gets a task with its data, sends the numbers back.
parentPort?.on('message', ({ name, input }: { name: TaskName; input: BenchInput }) => {
  parentPort?.postMessage(atOnce(TASKS[name](input)));
});
