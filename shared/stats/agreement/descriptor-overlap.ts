import { StatsInputError } from '../input.ts';
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
  const byAssessor = new Map<string, Map<string, Set<string>>>();
  for (const { assessor, sample, descriptors } of choices) {
    const own = byAssessor.get(assessor) ?? new Map<string, Set<string>>();
    if (own.has(sample)) {
      throw new StatsInputError(
        'choices',
        `two of ${assessor} for ${sample}`,
        'one for each assessor and sample',
      );
    }
    byAssessor.set(assessor, own.set(sample, new Set(descriptors)));
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

function overlaps(
  own: ReadonlyMap<string, ReadonlySet<string>>,
  theirs: ReadonlyMap<string, ReadonlySet<string>>,
): { same: number[]; different: number[] } {
  const same: number[] = [];
  const different: number[] = [];
  for (const [sample, mine] of own) {
    for (const [other, their] of theirs) {
      const both = [...mine].filter((descriptor) => their.has(descriptor)).length;
      const either = mine.size + their.size - both;
      if (either > 0) (sample === other ? same : different).push(both / either);
    }
  }
  return { same, different };
}

function meanOrNull(values: readonly number[]): number | null {
  return values.length > 0 ? mean(values) : null;
}
