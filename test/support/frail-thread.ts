import { parentPort } from 'node:worker_threads';

/** What this stand-in for the analysis does; `left` counts how often, over all its threads. */
export interface FrailInput {
  act: 'answer' | 'throw' | 'exit' | 'exhaust' | 'hang';
  left: SharedArrayBuffer;
}

parentPort?.on('message', ({ id, input }: { id: number; input: FrailInput }) => {
  const again = Atomics.sub(new Int32Array(input.left), 0, 1) > 0;
  const act = again ? input.act : 'answer';
  if (act === 'exit') process.exit(3);
  if (act === 'throw') setImmediate(() => JSON.parse('not what was expected'));
  else if (act === 'exhaust') {
    const kept: number[][] = [];
    for (;;) kept.push(Array.from({ length: 10_000 }, (_, index) => index + kept.length));
  } else if (act === 'hang') for (;;);
  else parentPort?.postMessage({ id, document: { done: true }, gaps: [] });
});
