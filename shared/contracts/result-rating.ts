import { z } from 'zod';
import { controlPart, likingPart, ratingPart } from './part.ts';
import { count, interval, partFrame, sampleFacts, share } from './result-common.ts';

const key = z.string();

const markedSample = z.object({
  sample: key,
  /** Marks behind it, people who gave them, cups for which a person said 'I cannot say', cups without an answer. */
  n: count,
  assessors: count,
  declined: count,
  unanswered: count,
  /** Plain mean of the marks; null without one. */
  mean: z.number().nullable(),
  /** Mean by the model, people being a sample of those meant, with its 95 % interval; null without a model. */
  estimated: interval.extend({ mean: z.number(), standardError: z.number(), df: z.number() }).nullable(),
  /**
   * Samples without a common letter differ, by means or by ranks as `trust` says; null when no difference was shown.
   */
  letters: z.string().nullable(),
  /** Marks by value, on scales of few steps; empty on a line. */
  counts: z.array(z.object({ value: z.number(), marks: count })),
});
export type MarkedSample = z.infer<typeof markedSample>;

const markPair = z.object({
  first: key,
  second: key,
  /** Mean of the first less mean of the second, in units of the scale, with limits that hold for all pairs at once. */
  difference: z.number(),
  lower: z.number(),
  upper: z.number(),
  standardError: z.number(),
  df: z.number(),
  /** Adjusted for all pairs of the attribute by the studentized range. */
  pTukey: share,
  /** Difference in standard deviations of a single mark; null where it cannot be had. */
  standardised: z.number().nullable(),
  /** The attribute was shown to differ, pairs are told by means, and this one differs at alpha. */
  differs: z.boolean(),
});
export type MarkPair = z.infer<typeof markPair>;

const fTest = z.object({
  /** anova: everybody marked every sample equally often. mixed: marks missing or unequal in number, by REML. */
  by: z.enum(['anova', 'mixed']),
  f: z.number(),
  df1: z.number(),
  df2: z.number(),
  p: share,
  /** Adjusted for all attributes of the part by Holm. */
  adjusted: share,
});

const verdict = z.object({
  /**
   * How much of what varies within people lies between samples, 0 to 1 of the squares, by marks and by ranks; against a
   * control the largest difference from it. The larger of the two is tested.
   */
  marks: z.number(),
  ranks: z.number(),
  p: share,
  /** Adjusted for all attributes of the part by Holm, those without any spread included. */
  adjusted: share,
  route: z.enum(['exact', 'permutation']),
  /** Random orders drawn; null on the exact route, and where p is told in bands. */
  permutations: count.nullable(),
  /** People with marks for two samples or more, and people left out for want of them. */
  assessors: count,
  leftOut: count,
});

const rankAnswer = z.object({
  /** friedman: means within people ranked. durbin: incomplete blocks. */
  by: z.enum(['friedman', 'durbin']),
  chiSquare: z.number().nullable(),
  df: count,
  p: share,
  adjusted: share,
  route: z.enum(['exact', 'permutation', 'chi-square']),
  permutations: count.nullable(),
  /** People in the test, and people left out because a sample of theirs has no mark. */
  assessors: count,
  leftOut: count,
  samples: z.array(
    z.object({ sample: key, meanRank: z.number().nullable(), letters: z.string().nullable() }),
  ),
  pairs: z.array(
    z.object({ first: key, second: key, difference: z.number(), p: share, differs: z.boolean() }),
  ),
  /** How the pairs are adjusted. */
  adjustment: z.enum(['nemenyi', 'holm']),
});

const linkAnswer = z.object({
  chiSquare: z.number(),
  df: count,
  p: share,
  adjusted: share,
  pairs: z.array(
    z.object({
      first: key,
      second: key,
      oddsRatio: z.number(),
      lower: z.number(),
      upper: z.number(),
      pTukey: share,
    }),
  ),
});

export const markFigures = z.object({
  n: count,
  /** People with a mark. */
  assessors: count,
  declined: count,
  unanswered: count,
  samples: z.array(markedSample),
  /**
   * The permutation test within people, fixed beforehand, on which the finding stands; null when nothing can be compared:
   * `reason` says why. Null too in publications made before there was one.
   */
  verdict: verdict.nullable().default(null),
  reason: z.string().nullable(),
  /** F test of means beside it; null where marks leave no error variation. */
  test: fTest.nullable(),
  pairs: z.array(markPair),
  /** Standard deviations in units of the scale; interaction null when it cannot be told from the residual. */
  spread: z
    .object({ assessor: z.number(), interaction: z.number().nullable(), residual: z.number() })
    .nullable(),
  /** Shares of variation: that of samples in a balanced table, and of samples among all variation. */
  effect: z.object({ partialEpsilonSquared: z.number().nullable(), marginalR2: z.number().nullable() }),
  checks: z
    .object({
      straightness: z.number().nullable(),
      normalP: z.number().nullable(),
      spreadP: z.number().nullable(),
      far: count,
      sayings: z.array(z.string()),
    })
    .nullable(),
  cautions: z.array(z.string()),
  /** Shares of marks at the two ends of the scale. */
  ends: z.object({ low: share, high: share }),
  ranks: rankAnswer.nullable(),
  /** Cumulative logit with people random, on scales of few steps, where the means are in doubt, no cup was repeated and it has a fit. */
  link: linkAnswer.nullable(),
  /** By which answer pairs and letters are told. `link` only in publications made before there was a verdict. */
  trust: z.enum(['means', 'ranks', 'link']),
  /** Do means and ranks say at alpha what the verdict says? Null when neither says anything. */
  agree: z.boolean().nullable(),
  trustReading: z.string(),
  /** By the verdict, adjusted for all attributes, at alpha. */
  shown: z.boolean(),
  /** Standard deviation between marks of one person for one sample; null when nobody marked one twice. */
  repeatability: z.object({ standardDeviation: z.number(), df: count }).nullable(),
  positions: z.object({
    rows: z.array(z.object({ position: count, n: count, mean: z.number(), deviation: z.number() })),
    reading: z.string(),
  }),
  /** The finding of this attribute in a sentence or two. */
  reading: z.string(),
});
export type MarkFigures = z.infer<typeof markFigures>;

const flightSettings = { cups: true, replicates: true, cupsEach: true, alpha: true } as const;
const flightFacts = {
  samples: z.array(sampleFacts),
  /** Names of warm-ups, tasted first and left out of every figure. */
  warmUps: z.array(z.string()),
  /** Names of hidden duplicates; their marks count for the sample of their arm. */
  duplicates: z.array(z.string()),
  comments: z.array(z.string()),
};

export const ratingResult = partFrame.extend({
  kind: z.literal('rating'),
  settings: ratingPart.pick({ ...flightSettings, attributes: true, scale: true, by: true, returning: true }),
  ...flightFacts,
  attributes: z.array(
    markFigures.extend({ id: z.string(), name: z.string(), low: z.string(), high: z.string() }),
  ),
});
export type RatingResult = z.infer<typeof ratingResult>;

export const likingResult = partFrame.extend({
  kind: z.literal('liking'),
  settings: likingPart.pick(flightSettings),
  ...flightFacts,
  figures: markFigures,
});
export type LikingResult = z.infer<typeof likingResult>;

export const controlResult = partFrame.extend({
  kind: z.literal('control'),
  settings: controlPart.pick({ ...flightSettings, controlArmId: true, degrees: true }),
  ...flightFacts,
  /** Key of the hidden control, with which every sample is compared. */
  control: key,
  figures: markFigures,
  /**
   * The permutation test within people of the largest difference from the hidden control, on which the finding stands; null
   * when nothing can be compared, and in publications made before there was one.
   */
  verdict: verdict.omit({ adjusted: true }).nullable().default(null),
  /** Null where marks leave no error variation, or no comparison could be made. */
  comparisons: z
    .object({
      adjustment: z.enum(['dunnett', 'holm']),
      rows: z.array(
        z.object({
          sample: key,
          difference: z.number(),
          lower: z.number(),
          upper: z.number(),
          standardError: z.number(),
          df: z.number(),
          t: z.number(),
          p: share,
          adjusted: share,
          /** By ranks within people against the hidden control, Holm over samples; null where ranks say nothing. */
          pRanks: share.nullable(),
          /** The verdict shows a difference, and this sample with it. */
          differs: z.boolean(),
        }),
      ),
    })
    .nullable(),
});
export type ControlResult = z.infer<typeof controlResult>;
