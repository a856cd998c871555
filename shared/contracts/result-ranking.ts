import { z } from 'zod';
import { rankingPart } from './part.ts';
import { count, partFrame, sampleFacts, share } from './result-common.ts';

const route = z.enum(['exact', 'permutation', 'chi-square']);
const key = z.string();

const rankedSample = sampleFacts.extend({
  /** People who ranked it. */
  assessors: count,
  /** Ranks within assessors, 1 for least, ties sharing the mean of their places; null when nobody ranked it. */
  rankSum: z.number().nullable(),
  meanRank: z.number().nullable(),
  /** People per rank, ranks rising; in incomplete blocks ranks are within the cups a person had. */
  ranks: z.array(z.object({ rank: z.number(), people: count })),
  /** Samples without a common letter differ at alpha; null when no pairs were compared. */
  letters: z.string().nullable(),
});

const rankTest = z.object({
  /**
   * friedman: everybody ranked all samples. incomplete: everybody ranked some of them (Durbin's test where it is balanced).
   * sign: two samples.
   */
  kind: z.enum(['friedman', 'incomplete', 'sign']),
  chiSquare: z.number().nullable(),
  /** Friedman's, without the correction for ties. */
  uncorrected: z.number().nullable(),
  df: count,
  p: share,
  route,
  /** Random orders drawn; null on the other routes. */
  permutations: count.nullable(),
  pChiSquare: share,
  /** Iman and Davenport's F; only of complete rankings of more than two samples. */
  imanDavenport: z.object({ f: z.number(), df1: z.number(), df2: z.number(), p: share }).nullable(),
  /** The smallest p that rankings without ties of this design could give; null when it is not known. */
  smallestP: share.nullable(),
  /** p at or below alpha. */
  shown: z.boolean(),
});

const rankPair = z.object({
  first: key,
  second: key,
  /** Rank sum of the first less that of the second. */
  difference: z.number(),
  pUnadjusted: share,
  pHolm: share,
  /** All pairs together by the range; null in incomplete blocks. */
  pNemenyi: share.nullable(),
  /** By the method named in `pairs.method`, at alpha. */
  differs: z.boolean(),
});

export const rankingResult = partFrame.extend({
  kind: z.literal('ranking'),
  settings: rankingPart.pick({
    cups: true,
    replicates: true,
    cupsEach: true,
    alpha: true,
    attribute: true,
  }),
  samples: z.array(rankedSample),
  /** Names of warm-ups, tasted first and left out of every figure. */
  warmUps: z.array(z.string()),
  ranked: z.object({
    /** People whose rankings are in the test. */
    assessors: count,
    /** People who ranked, but are left out of the test. */
    leftOut: count,
    /** Cups of one sample were averaged within a person (hidden duplicates, repeated trays). */
    averaged: z.boolean(),
    reading: z.string(),
  }),
  /** Null when fewer than two people ranked, or no two samples. */
  test: rankTest.nullable(),
  pairs: z
    .object({
      method: z.enum(['nemenyi', 'holm']),
      /** Smallest difference of rank sums that is significant (Nemenyi); null in incomplete blocks. */
      critical: z.number().nullable(),
      rows: z.array(rankPair),
      reading: z.string(),
    })
    .nullable(),
  /** For two samples: who put which higher. */
  sign: z
    .object({ first: key, second: key, firstHigher: count, secondHigher: count, tied: count, p: share })
    .nullable(),
  /** Kendall's W; null when not everybody ranked the same samples, or for one person. */
  agreement: z
    .object({
      w: share.nullable(),
      meanSpearman: z.number().nullable(),
      assessors: count,
      samples: count,
      reading: z.string(),
    })
    .nullable(),
  /** Two cups of one sample in one ranking. */
  duplicates: z.array(
    z.object({
      sample: key,
      name: z.string(),
      people: count,
      /** Mean number of places between the two cups; 1 is next to each other. */
      meanApart: z.number(),
      /** The same by chance alone: (cups + 1) / 3. */
      byChance: z.number(),
    }),
  ),
  comments: z.array(z.string()),
});
export type RankingResult = z.infer<typeof rankingResult>;
