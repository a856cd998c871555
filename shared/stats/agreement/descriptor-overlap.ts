import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { mean } from './assessor-ratings.ts';

/** The descriptors one assessor ticked for one sample; an empty list where none applied. */
export interface DescriptorChoice {
  assessor: string;
  sample: string;
  descriptors: readonly string[];
}

export interface PairOverlap {
  assessors: [string, string];
  /** Mean over the samples both judged, 0 to 1; null when neither ticked anything in any. */
  overlap: number | null;
  /** Samples that count: judged by both, ticked by at least one. */
  samples: number;
}

export interface DescriptorOverlap extends MethodFacts {
  /** Mean over all pairs of assessors, each pair and sample weighing the same; null without any. */
  overlap: number | null;
  /**
   * The same between two assessors' choices for different samples: how much they overlap from habit alone. Null without.
   * Only what lies above it speaks of the samples.
   */
  acrossSamples: number | null;
  pairs: PairOverlap[];
  /** Each assessor with all others. */
  assessors: { assessor: string; overlap: number | null }[];
}

/**
 * How far assessors tick the same descriptors for the same sample: descriptors both ticked over descriptors either ticked
 * (Jaccard), mean over samples and pairs. What nobody ticked counts neither for nor against: not ticked is not 'absent'.
 * Beside it the same figure between choices for different samples. Not a test, and no measure of who is right; not to
 * compare ballots with lists of different length.
 * A choice for each assessor and sample once at most. Errors: StatsInputError.
 * Source: Jaccard 1912, New Phytol. 11:37 (coefficient); the comparison across samples is our own.
 * Example: `descriptorOverlap({ choices: [{ assessor: 'a', sample: 's', descriptors: ['apple', 'honey'] }, { assessor: 'b', sample: 's', descriptors: ['apple', 'smoke'] }] }).overlap` is 0.333333333333
 */
export function descriptorOverlap({ choices }: { choices: readonly DescriptorChoice[] }): DescriptorOverlap {
  const places = new Map<string, number>();
  for (const { descriptors } of choices) {
    for (const descriptor of descriptors) if (!places.has(descriptor)) places.set(descriptor, places.size);
  }
  const byAssessor = new Map<string, Map<string, Ticks>>();
  for (const { assessor, sample, descriptors } of choices) {
    const own = byAssessor.get(assessor) ?? new Map<string, Ticks>();
    if (own.has(sample)) {
      throw new StatsInputError(
        'choices',
        `two of ${assessor} for ${sample}`,
        'one for each assessor and sample',
      );
    }
    byAssessor.set(assessor, own.set(sample, ticksOf(descriptors, places)));
  }
  const people = [...byAssessor];
  const compared = people.flatMap(([first, own], at) =>
    people.slice(at + 1).map(([second, theirs]) => ({ first, second, ...overlaps(own, theirs) })),
  );
  return {
    overlap: meanOrNull(compared.flatMap(({ same }) => same)),
    acrossSamples: meanOrNull(compared.flatMap(({ different }) => different)),
    pairs: compared.map(({ first, second, same }) => ({
      assessors: [first, second],
      overlap: meanOrNull(same),
      samples: same.length,
    })),
    assessors: people.map(([assessor]) => ({
      assessor,
      overlap: meanOrNull(
        compared
          .filter(({ first, second }) => first === assessor || second === assessor)
          .flatMap(({ same }) => same),
      ),
    })),
    method: 'Mean Jaccard overlap of descriptor choice',
    assumption: 'Assessors chose from the same list, independently.',
    source: 'Jaccard 1912',
  };
}

/** Ticked descriptors as bits, 32 to a word: a panel of 100 has five thousand pairs to compare. */
interface Ticks {
  bits: Int32Array;
  size: number;
}

function ticksOf(descriptors: readonly string[], places: ReadonlyMap<string, number>): Ticks {
  const bits = new Int32Array(Math.ceil(places.size / 32));
  const own = new Set(descriptors);
  for (const descriptor of own) {
    const place = places.get(descriptor) ?? 0;
    bits[place >> 5] = (bits[place >> 5] ?? 0) | (1 << (place & 31));
  }
  return { bits, size: own.size };
}

function inCommon(mine: Int32Array, their: Int32Array): number {
  let count = 0;
  for (let word = 0; word < mine.length; word++) {
    let left = (mine[word] ?? 0) & (their[word] ?? 0);
    for (; left !== 0; count++) left &= left - 1;
  }
  return count;
}

function overlaps(
  own: ReadonlyMap<string, Ticks>,
  theirs: ReadonlyMap<string, Ticks>,
): { same: number[]; different: number[] } {
  const same: number[] = [];
  const different: number[] = [];
  for (const [sample, mine] of own) {
    for (const [other, their] of theirs) {
      const both = inCommon(mine.bits, their.bits);
      const either = mine.size + their.size - both;
      if (either > 0) (sample === other ? same : different).push(both / either);
    }
  }
  return { same, different };
}

function meanOrNull(values: readonly number[]): number | null {
  return values.length > 0 ? mean(values) : null;
}
