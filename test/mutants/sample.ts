import { createHash } from 'node:crypto';
import { relative } from 'node:path';
import { fileURLToPath } from 'node:url';

// Stryker's checkers say which mutants are worth a run of tests. This one takes a share of them, the same ones for the same
// seed, and of those alone that nobody has tried yet: where a whole area takes longer than there is time.

/** What run.ts hands to the process in which Stryker asks. */
export interface Sample {
  /** Of a hundred. */
  share: number;
  seed: number;
  /** Places of those already tried, as `placeOf` names them. */
  tried: string[];
}
export const SAMPLE = 'MUTANTS_SAMPLE';

interface Place {
  line: number;
  column: number;
}
interface Mutant {
  id: string;
  fileName: string;
  location: { start: Place; end: Place };
  replacement: string;
}

/** Names a mutant by its file, place and replacement; lines and columns from 1. */
export const placeOf = (
  file: string,
  { start, end }: Mutant['location'],
  replacement: string | undefined,
): string => [file, start.line, start.column, end.line, end.column, replacement].join(':');

/** Is the mutant of that name among the share? */
export function isChosen(place: string, { share, seed }: Pick<Sample, 'share' | 'seed'>): boolean {
  const drawn = createHash('sha256').update(`${seed} ${place}`).digest().readUInt32BE(0);
  return drawn < (share / 100) * 2 ** 32;
}

const root = fileURLToPath(new URL('../..', import.meta.url));

class Chooser {
  readonly #sample = JSON.parse(process.env[SAMPLE] ?? '{"share":100,"seed":1,"tried":[]}') as Sample;

  async init(): Promise<void> {}

  async check(mutants: readonly Mutant[]): Promise<Record<string, { status: string; reason?: string }>> {
    return Object.fromEntries(mutants.map((mutant) => [mutant.id, this.#judge(mutant)]));
  }

  #judge({ fileName, location, replacement }: Mutant): { status: string; reason?: string } {
    const after = ({ line, column }: Place): Place => ({ line: line + 1, column: column + 1 });
    // Stryker counts from 0 here, and from 1 where it tells results. A copy of the tree is mutated, or the tree.
    const ends = { start: after(location.start), end: after(location.end) };
    const { tried } = this.#sample;
    const copied = /\/copies\/sandbox-[^/]+\/(.*)$/.exec(fileName.replaceAll('\\', '/'))?.[1];
    const place = placeOf(copied ?? relative(root, fileName), ends, replacement);
    return !tried.includes(place) && isChosen(place, this.#sample)
      ? { status: 'passed' }
      : { status: 'compileError', reason: 'not in the sample' };
  }
}

export const strykerPlugins = [{ kind: 'Checker', name: 'sample', injectableClass: Chooser }];
