import { readFile } from 'node:fs/promises';
import { z } from 'zod';

// Mutants that live and why they may: each is looked at once, and a new one is red.

const survivor = z.strictObject({
  /** The line it stands on, without the blanks around it: numbers of lines move too easily. */
  line: z.string(),
  /** What was changed into what; long texts are cut. */
  change: z.string(),
  /** Alike mutants of alike lines in this file. */
  times: z.int().min(1).default(1),
  /** equivalent: nothing can tell them apart. second-guard: something else holds the promise too. accepted: see why. */
  because: z.enum(['equivalent', 'second-guard', 'accepted']),
  why: z.string().min(10),
});
const survivors = z.record(z.string(), z.array(survivor));
export type Survivor = z.infer<typeof survivor>;
export type Survivors = z.infer<typeof survivors>;

export async function readSurvivors(): Promise<Survivors> {
  return survivors.parse(JSON.parse(await readFile(new URL('survivors.json', import.meta.url), 'utf8')));
}

/** A mutant that no test noticed. */
export interface Unnoticed {
  file: string;
  at: number;
  line: string;
  change: string;
}

const keyOf = ({ line, change }: Pick<Survivor, 'line' | 'change'>): string => `${line}\n${change}`;

/**
 * What of the mutants that live is not explained, and which explanations are of no mutant any more. `files` are those that
 * were mutated: of others nothing is known.
 */
export function judge(
  unnoticed: readonly Unnoticed[],
  explained: Survivors,
  files: readonly string[],
): { fresh: Unnoticed[]; stale: { file: string; line: string; change: string }[] } {
  const fresh: Unnoticed[] = [];
  const stale: { file: string; line: string; change: string }[] = [];
  for (const file of files) {
    const left = new Map((explained[file] ?? []).map((one) => [keyOf(one), one.times]));
    for (const one of unnoticed.filter((mutant) => mutant.file === file)) {
      const times = left.get(keyOf(one)) ?? 0;
      if (times === 0) fresh.push(one);
      else left.set(keyOf(one), times - 1);
    }
    for (const one of explained[file] ?? []) {
      if ((left.get(keyOf(one)) ?? 0) > 0) stale.push({ file, line: one.line, change: one.change });
    }
  }
  return { fresh, stale };
}
