import { writeFile } from 'node:fs/promises';
import { cpus } from 'node:os';
import { setTimeout as wait } from 'node:timers/promises';
import { benchChoices, benchRatings, type BenchSize } from './support/bench-data.ts';
import { watched, withRunner, WAYS, type LoopOutcome, type Runner, type Way } from './support/bench-loop.ts';
import { rVersion, withR, type ROutcome } from './support/bench-r.ts';
import { benchTable, median, type BenchRow } from './support/bench-table.ts';
import type { BenchInput, TaskName } from './support/bench-tasks.ts';

// npm run bench -- [--short] [--json FILE]: how long whole analyses take, beside the same in R on the same machine in the same
// run where there is Rscript, and how long each holds up the event loop.
const options = process.argv.slice(2);
const short = options.includes('--short');
const jsonAt = options.indexOf('--json');
const file = jsonAt < 0 ? null : options[jsonAt + 1];
if (file === undefined) throw new RangeError('--json takes a file');

const full: BenchSize = {
  assessors: 200,
  samples: 8,
  attributes: 30,
  descriptors: 60,
  draws: 2000,
  seats: 1000,
};
const size: BenchSize = short ? { ...full, assessors: 60, attributes: 4, descriptors: 8, draws: 500 } : full;
const seed = 20_260;
const input: BenchInput = {
  size,
  seed,
  complete: benchRatings(size, seed, 0),
  gaps: benchRatings(size, seed + 1, 0.05),
  choices: benchChoices(size, seed + 2),
};
const people = `${size.assessors} x ${size.samples}`;
const tasks: { name: TaskName; what: string; repeats: number; rRepeats: number }[] = [
  { name: 'anova', what: `rating, complete, ${people} x ${size.attributes}`, repeats: 9, rRepeats: 3 },
  { name: 'mixed', what: `rating, 5 % missing, ${people} x ${size.attributes}`, repeats: 5, rRepeats: 3 },
  {
    name: 'descriptors',
    what: `descriptors, ${people} x ${size.descriptors}, ${size.draws} draws`,
    repeats: 5,
    rRepeats: 3,
  },
  { name: 'plan', what: `triangle plans, ${size.seats} seats`, repeats: 9, rRepeats: 9 },
  { name: 'seal', what: `triangle plans sealed, ${size.seats} seats`, repeats: 9, rRepeats: 5 },
  { name: 'orders', what: `Williams orders, ${size.seats} seats x ${size.samples}`, repeats: 9, rRepeats: 9 },
];

async function rowOf(
  run: Runner,
  task: (typeof tasks)[number],
  r: ((name: TaskName, repeats: number, warm: number) => Promise<ROutcome | null>) | null,
): Promise<BenchRow> {
  const repeats = short ? 3 : task.repeats;
  const outcomes: Record<Way, LoopOutcome[]> = { inline: [], slices: [], worker: [] };
  let numbers: number[] = [];
  for (let turn = 0; turn < repeats; turn += 1) {
    for (const way of WAYS) {
      const outcome = await run(way, task.name, input);
      outcomes[way].push(outcome);
      if (numbers.length > 0 && outcome.numbers.some((value, i) => !Object.is(value, numbers[i]))) {
        throw new Error(`${task.name}: ${way} gives other numbers`);
      }
      numbers = outcome.numbers;
    }
  }
  const there = r ? await r(task.name, short ? 2 : task.rRepeats, 1) : null;
  const ms = median(outcomes.inline.map((one) => one.ms));
  const rMs = there && median(there.times);
  return {
    task: task.name,
    what: task.what,
    first: outcomes.inline[0]?.ms ?? NaN,
    ms,
    times: outcomes.inline.map((one) => one.ms),
    r: there && { ms: rMs ?? NaN, times: there.times, packages: there.packages },
    ratio: rMs === null ? null : rMs / ms,
    apart: there && apart(numbers, there),
    ways: { inline: wayOf(outcomes.inline), slices: wayOf(outcomes.slices), worker: wayOf(outcomes.worker) },
  };
}

/** Medians of time, and the worst of all runs for the event loop. */
function wayOf(outcomes: readonly LoopOutcome[]): BenchRow['ways']['inline'] {
  return {
    ms: median(outcomes.map(({ ms }) => ms)),
    held: Math.max(...outcomes.map(({ held }) => held)),
    still: Math.max(...outcomes.map(({ still }) => still)),
  };
}

/** Largest difference of the numbers both find; null where R used another method. */
function apart(ours: readonly number[], { numbers, packages }: ROutcome): number | null {
  if (packages === 'nlme') return null;
  if (ours.length !== numbers.length) {
    throw new Error(`R gives ${numbers.length} numbers instead of ${ours.length}`);
  }
  return Math.max(
    0,
    ...ours.map((value, i) => Math.abs(value - (numbers[i] ?? NaN)) / Math.max(1, Math.abs(value))),
  );
}

const version = await rVersion();
// What the machine itself adds: the longest standstill while nothing is done.
const idle = await watched(async () => {
  await wait(1000);
  return [];
});
const rows = await withRunner(async (run) => {
  const all = async (r: Parameters<typeof rowOf>[2]) => {
    const done: BenchRow[] = [];
    for (const task of tasks) done.push(await rowOf(run, task, r));
    return done;
  };
  return version === null ? all(null) : withR(input, all);
});
const machine = `${cpus()[0]?.model ?? 'unknown'}, ${cpus().length} cores`;
console.log(
  `Node ${process.versions.node}, ${version ?? 'no R on this machine'}, ${machine}; seed ${seed}\n`,
);
console.log(benchTable(rows));
console.log(
  `\nheld: longest this thread computes without a turn for others, processor time; the event loop's own clock, which other
programs on the machine disturb, stood still while idle for ${idle.still.toFixed(1)} ms and is in the JSON ('still').`,
);
if (file !== null) {
  const report = {
    node: process.versions.node,
    r: version,
    machine,
    short,
    size,
    seed,
    idle: idle.still,
    rows,
  };
  await writeFile(file, `${JSON.stringify(report, null, 2)}\n`);
}
