import { z } from 'zod';
import { confidence } from './ballot.ts';
import { id } from './common.ts';
import { differencePart, preferencePart } from './part.ts';
import { count, interval, partFrame, share } from './result-common.ts';

const kinds = z.literal(differencePart.options.map(({ shape }) => shape.kind.value));

const differenceVerdict = z.enum([
  'no-data',
  'difference-shown',
  'difference-not-shown',
  'similarity-shown',
  'similarity-not-shown',
]);

/** How often a place on the tray was chosen; `rightThere` is null where no answer is right or wrong. */
const placeRow = z.object({ place: z.string(), chosen: count, rightThere: count.nullable() });

/** Per person when trays were repeated by the same palates. */
const replicatesReading = z.object({
  perAssessor: z.array(z.object({ answers: count, counted: count, assessors: count })),
  designEffect: z.number().nullable(),
  effectiveAnswers: z.number().nullable(),
  reading: z.string(),
});

/**
 * A difference test between two arms on which one choice is made over a tray.
 * One-sided tests count right answers. A directional pair without a direction has none: it counts the answers that
 * named the first arm, `outcome` says so in words, and figures that need a right answer are null.
 */
export const choiceResult = z.object({
  ...partFrame.shape,
  finding: partFrame.shape.finding.extend({ verdict: differenceVerdict }),
  kind: kinds,
  settings: differencePart,
  /** What is counted, and what every other answer is: 'right' and 'not right', or the names of the two arms. */
  outcome: z.object({ counted: z.string(), other: z.string() }),
  test: z.object({
    side: z.enum(['greater', 'two-sided']),
    guessRate: share,
    counted: count,
    answers: count,
    expectedByGuessing: z.number(),
    /** Exact p of the planned test. */
    p: share,
    /** Smallest count that is significant at alpha (two-sided: for either arm); null when the panel is too small for any. */
    critical: count.nullable(),
    alpha: z.number(),
    /** Smallest p this number of answers could have given. */
    smallestP: share,
  }),
  /** The planned similarity test; null when the aim was difference. One answer per person. */
  similarity: z
    .object({
      /** Right answers; without a direction, answers for the arm named more often. */
      counted: count,
      answers: count,
      /** Largest count that still supports similarity; null when the panel is too small. */
      mostCounted: count.nullable(),
      p: share,
      beta: z.number(),
      meaningfulShare: share,
      upperShare: z.number(),
    })
    .nullable(),
  proportionCounted: z.number().nullable(),
  /** Share of discriminators, with the interval that pairs with the one-sided test; null without answers or direction. */
  share: z
    .object({ estimate: z.number(), untruncated: z.number(), level: z.number(), ...interval.shape })
    .nullable(),
  /** Which arm was named the stronger, for tests that name an attribute; null for those that may not say so. */
  stronger: z
    .object({
      attribute: z.string(),
      rows: z.array(z.object({ armId: id, answers: count })).length(2),
      /** Share of answers for the first arm with its exact interval, where no direction was fixed. */
      share: z.object({ estimate: z.number(), level: z.number(), ...interval.shape }).nullable(),
    })
    .nullable(),
  /** By the psychometric function of the test. Without a direction, above 0 means more of the attribute in the first arm. */
  dPrime: z
    .object({
      estimate: z.number().nullable(),
      standardError: z.number().nullable(),
      level: z.number(),
      lower: z.number().nullable(),
      upper: z.number().nullable(),
    })
    .nullable(),
  /** Power of the answers actually served for the difference planned; never observed power. */
  power: z.object({
    answers: count,
    meaningfulShare: share,
    power: share.nullable(),
    smallestForPlan: count.nullable(),
  }),
  /** Share of discriminators given the answers and a flat prior, one answer per person; null without answers or direction. */
  posterior: z
    .object({
      answers: count,
      median: share,
      level: z.number(),
      ...interval.shape,
      meaningfulShare: share,
      /** Probability that the share exceeds the one that would matter, after the answers and before them. */
      exceeds: z.number(),
      exceedsBefore: z.number(),
    })
    .nullable(),
  confidence: z.object({
    rows: z.array(z.object({ confidence, counted: count, answers: count, ...interval.shape })),
    /** Was a right answer given with more confidence than one that was not? One answer per person; null when not both, or one degree only, are there. */
    rIndex: z
      .object({
        rightAnswers: count,
        otherAnswers: count,
        estimate: z.number(),
        level: z.number(),
        lower: z.number().nullable(),
        upper: z.number().nullable(),
        p: share,
      })
      .nullable(),
    reading: z.string(),
  }),
  orders: z.object({
    /** In letters, left to right: A is the first arm of the part, B the second; a reference stands in brackets. */
    rows: z.array(z.object({ order: z.string(), served: count, counted: count })),
    balanced: z.boolean(),
    reading: z.string(),
  }),
  /** Right answers by the arm that was the reference of a duo-trio; null for other tests. */
  references: z.array(z.object({ armId: id, answers: count, counted: count })).nullable(),
  positions: z.object({ rows: z.array(placeRow), p: share.nullable(), reading: z.string() }),
  descriptors: z.object({
    countedAnswers: count,
    otherAnswers: count,
    rows: z.array(z.object({ word: z.string(), counted: count, other: count })),
  }),
  comments: z.array(z.object({ counted: z.boolean(), text: z.string() })),
  replicates: replicatesReading.nullable(),
});
export type ChoiceResult = z.infer<typeof choiceResult>;

const votes = z.array(z.object({ armId: id, votes: count })).length(2);

/** Which of two arms people preferred. Two-sided; 'no preference' is counted apart and always shown. */
export const preferenceResult = z.object({
  ...partFrame.shape,
  finding: partFrame.shape.finding.extend({
    verdict: z.enum(['no-data', 'preference-shown', 'preference-not-shown']),
  }),
  kind: z.literal('preference'),
  settings: preferencePart,
  votes,
  noPreference: z.object({
    /** Was it offered? */
    offered: z.boolean(),
    answers: count,
    /** Share of all answers, with its exact interval; null without answers. */
    share: z.object({ estimate: z.number(), level: z.number(), ...interval.shape }).nullable(),
  }),
  test: z.object({
    /** exclude: only those who prefer one arm are in the test. */
    policy: z.enum(['exclude', 'split']),
    /** Answers in the test. */
    answers: count,
    /** Votes for the arm named more often; the first arm when even. */
    most: count,
    p: share,
    /** Fewest votes for one arm, either of the two, that are significant; null when no count is. */
    critical: count.nullable(),
    alpha: z.number(),
    smallestP: share,
  }),
  /** Share of those who prefer one arm that prefer the arm named more often, exact interval; null without such answers. */
  share: z.object({ armId: id, estimate: z.number(), level: z.number(), ...interval.shape }).nullable(),
  orders: z.object({
    rows: z.array(z.object({ order: z.string(), served: count, first: count, second: count, none: count })),
    balanced: z.boolean(),
    reading: z.string(),
  }),
  positions: z.object({ rows: z.array(placeRow), p: share.nullable(), reading: z.string() }),
  descriptors: z.array(z.object({ word: z.string(), first: count, second: count, none: count })),
  /** With the arm preferred in that answer; null for no preference. */
  comments: z.array(z.object({ armId: id.nullable(), text: z.string() })),
});
export type PreferenceResult = z.infer<typeof preferenceResult>;
