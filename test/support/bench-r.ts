import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { asLines } from './bench-data.ts';
import type { BenchInput, TaskName } from './bench-tasks.ts';

const run = promisify(execFile);
const SCRIPT = new URL('../reference/bench.R', import.meta.url).pathname;

export interface ROutcome {
  /** Milliseconds, one per repeat. */
  times: number[];
  packages: string;
  numbers: number[];
}

/** What `Rscript` calls itself, or null where there is none. */
export async function rVersion(): Promise<string | null> {
  try {
    const { stdout } = await run('Rscript', ['-e', 'cat(R.version.string)']);
    return stdout.trim();
  } catch {
    return null;
  }
}

/** Writes the input where R finds it, and lets `use` run tasks on it; a task is null where R lacks a package for it. */
export async function withR<T>(
  input: BenchInput,
  use: (task: (name: TaskName, repeats: number, warm: number) => Promise<ROutcome | null>) => Promise<T>,
): Promise<T> {
  const folder = await mkdtemp(join(tmpdir(), 'oddglass-bench-'));
  try {
    const size = Object.entries(input.size);
    const header = size.map(([name]) => name).join(' ');
    await Promise.all([
      writeFile(join(folder, 'size.txt'), `${header}\n${size.map(([, value]) => value).join(' ')}\n`),
      writeFile(join(folder, 'complete.txt'), asLines(input.complete.values)),
      writeFile(join(folder, 'gaps.txt'), asLines(input.gaps.values)),
      writeFile(join(folder, 'choices.txt'), asLines(input.choices.values)),
    ]);
    return await use(async (name, repeats, warm) => {
      const words = [SCRIPT, folder, name, String(repeats), String(warm)];
      const { stdout } = await run('Rscript', words, { maxBuffer: 2 ** 26 });
      return outcomeOf(stdout);
    });
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

function outcomeOf(printed: string): ROutcome | null {
  const line = (word: string) =>
    printed
      .split('\n')
      .find((text) => text.startsWith(`${word} `))
      ?.slice(word.length + 1)
      .trim();
  if (line('missing') !== undefined) return null;
  const numbers = (text = '') => text.split(/\s+/).filter(Boolean).map(Number);
  return {
    times: numbers(line('times')),
    packages: line('with') ?? '',
    numbers: numbers(line('numbers')),
  };
}
