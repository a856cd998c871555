import { spawn, spawnSync } from 'node:child_process';
import { xoshiro } from '@oddglass/shared/ground/fast-random.ts';

/** One number of ours beside the other side's; NaN there means that there is no answer, which ours says with null. */
export interface Compared {
  what: string;
  ours: number | null;
  theirs: number;
  tolerance: number;
  /** Of `theirs`, or as it stands. */
  relative: boolean;
}

/** A method of ours that R has too: random inputs as plain numbers, and what to compare. */
export interface LiveMethod {
  /** Function of test/reference/live.R. */
  name: string;
  input: (draw: Draw) => number[];
  compare: (input: readonly number[], theirs: readonly number[]) => Compared[];
}

export type Answers = { absent: string } | { absent: null; outputs: number[][] };

/** Random numbers of one seed, for inputs. */
export class Draw {
  private readonly next: () => number;

  constructor(seed: number) {
    this.next = xoshiro([seed, seed ^ 0x9e3779b9, seed ^ 0x243f6a88, 0x5bd1e995]);
    for (let turn = 0; turn < 20; turn += 1) this.next();
  }

  /** Above 0, below 1. */
  unit(): number {
    return (this.next() + 0.5) / 2 ** 32;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.unit();
  }

  /** Evenly on the scale of logarithms. */
  logBetween(low: number, high: number): number {
    return Math.exp(this.between(Math.log(low), Math.log(high)));
  }

  /** Whole, both ends included. */
  whole(low: number, high: number): number {
    return low + Math.floor((high - low + 1) * this.unit());
  }

  /** Roughly normal: twelve uniform numbers less six. */
  bell(): number {
    return this.list(12, () => this.unit()).reduce((a, b) => a + b, -6);
  }

  list<T>(length: number, one: (index: number) => T): T[] {
    return Array.from({ length }, (_, index) => one(index));
  }
}

/** Version of R on this machine; null where there is none. */
export function versionOfR(): string | null {
  const { error, stdout } = spawnSync('Rscript', ['--vanilla', '-e', 'cat(R.version.string)'], {
    encoding: 'utf8',
  });
  return error ? null : stdout;
}

/** All inputs of a method in one R process. */
export async function askR(name: string, inputs: readonly (readonly number[])[]): Promise<Answers> {
  const script = new URL('../reference/live.R', import.meta.url).pathname;
  const child = spawn('Rscript', ['--vanilla', script, name], { stdio: ['pipe', 'pipe', 'pipe'] });
  const out: string[] = [];
  const complaints: string[] = [];
  child.stdout.setEncoding('utf8').on('data', (part: string) => out.push(part));
  child.stderr.setEncoding('utf8').on('data', (part: string) => complaints.push(part));
  child.stdin.end(inputs.map((input) => `${input.join(' ')}\n`).join(''));
  const code = await new Promise<number | null>((resolve, reject) => {
    child.on('error', reject);
    child.on('close', resolve);
  });
  const absent = code === 3 ? /^absent (\S+)/.exec(out.join(''))?.[1] : undefined;
  if (absent) return { absent };
  if (code !== 0) throw new Error(`R ended with ${code} for ${name}: ${complaints.join('')}`);
  const lines = out.join('').trim().split('\n');
  if (lines.length !== inputs.length) {
    throw new Error(
      `R gave ${lines.length} answers to ${inputs.length} inputs of ${name}: ${complaints.join('')}`,
    );
  }
  return { absent: null, outputs: lines.map((line) => line.trim().split(/ +/).map(Number)) };
}

/** What is off, with the input, so that one case can be tried again; and the largest share of a tolerance used. */
export function judge(
  method: LiveMethod,
  inputs: readonly (readonly number[])[],
  outputs: readonly (readonly number[])[],
): { off: string[]; worst: number; worstOf: string; compared: number } {
  const off: string[] = [];
  let worst = 0;
  let worstOf = '';
  let compared = 0;
  inputs.forEach((input, index) => {
    const answers = outputs[index] ?? [];
    for (const one of method.compare(input, answers)) {
      const { what, ours, theirs, tolerance, relative } = one;
      if (ours === null && Number.isNaN(theirs)) continue;
      compared += 1;
      const apart = Math.abs((ours ?? NaN) - theirs);
      const share = apart === 0 ? 0 : apart / (tolerance * (relative ? Math.abs(theirs) : 1));
      if (share > worst) [worst, worstOf] = [share, what];
      if (!(share <= 1)) off.push(`${what}: ours ${ours}, R ${theirs}; input ${input.join(' ')}`);
    }
  });
  return { off, worst, worstOf, compared };
}

/** Compares one after another, in R's order. */
export class Pairing {
  readonly all: Compared[] = [];
  private readonly theirs: readonly number[];
  private at = 0;

  constructor(theirs: readonly number[]) {
    this.theirs = theirs;
  }

  private get following(): number {
    return this.theirs[this.at++] ?? NaN;
  }

  relative(tolerance: number, what: string, ours: number | null): this {
    this.all.push({ what, ours, theirs: this.following, tolerance, relative: true });
    return this;
  }

  absolute(tolerance: number, what: string, ours: number | null): this {
    this.all.push({ what, ours, theirs: this.following, tolerance, relative: false });
    return this;
  }
}
