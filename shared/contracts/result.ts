import { z } from 'zod';
import { confidence } from './ballot.ts';
import { id, moment } from './common.ts';
import { blinding, sessionSettings } from './session.ts';

const count = z.number().int().min(0);
const interval = z.object({ lower: z.number(), upper: z.number() });

/** How a number was made: its method, published source, inputs and the assumption it needs. */
export const methodNote = z.object({
  id: z.string(),
  name: z.string(),
  explains: z.string(),
  source: z.string(),
  inputs: z.string(),
  assumption: z.string(),
});
export type MethodNote = z.infer<typeof methodNote>;

export const caveat = z.object({
  /** deviation: from the trial record; the others follow from how the session was run. */
  from: z.enum(['deviation', 'blinding', 'design', 'serving', 'generalisation']),
  arm: z.string().nullable(),
  on: z.string().nullable(),
  text: z.string(),
});
export type Caveat = z.infer<typeof caveat>;

const verdict = z.enum([
  'no-data',
  'difference-shown',
  'difference-not-shown',
  'similarity-shown',
  'similarity-not-shown',
]);

/**
 * What a revealed triangle session says: findings, figures, notes and caveats, versioned.
 * Holds no seat, code, time or name, so that a publication can stand on it.
 */
export const triangleResult = z.object({
  format: z.literal('oddglass-result-1'),
  kind: z.literal('triangle'),
  session: z.object({
    title: z.string(),
    trialTitle: z.string(),
    question: z.string(),
    factor: z.string(),
    demo: z.boolean(),
    arms: z.array(z.object({ id, name: z.string(), differs: z.string() })).length(2),
    blinding,
    fingerprint: z.string(),
    root: z.string(),
    revealedAt: moment,
  }),
  plan: sessionSettings,
  /** Who came: people seated, people with at least one answer, trays answered and left unanswered. */
  served: z.object({ seated: count, assessors: count, answers: count, unanswered: count }),
  finding: z.object({
    verdict,
    /** One or two short sentences, the first thing read. */
    headline: z.string(),
    /** The finding with its uncertainty. */
    lede: z.string(),
  }),
  test: z.object({
    correct: count,
    answers: count,
    expectedByGuessing: z.number(),
    /** Exact one-sided p of the planned test. */
    p: z.number(),
    /** Smallest number right that is significant at alpha; null when the panel is too small for any. */
    critical: count.nullable(),
    alpha: z.number(),
    /** Smallest p this number of answers could have given. */
    smallestP: z.number(),
  }),
  /** The planned similarity test; null when the aim was difference. One answer per person. */
  similarity: z
    .object({
      correct: count,
      answers: count,
      /** Largest number right that still supports similarity; null when the panel is too small. */
      mostCorrect: count.nullable(),
      p: z.number(),
      beta: z.number(),
      meaningfulShare: z.number(),
      upperShare: z.number(),
    })
    .nullable(),
  proportionCorrect: z.number().nullable(),
  /** Share of discriminators, with the interval that pairs with the one-sided test. */
  share: z
    .object({ estimate: z.number(), untruncated: z.number(), level: z.number(), ...interval.shape })
    .nullable(),
  dPrime: z
    .object({
      estimate: z.number().nullable(),
      standardError: z.number().nullable(),
      level: z.number(),
      lower: z.number(),
      upper: z.number().nullable(),
    })
    .nullable(),
  /** Power of the answers actually served for the difference planned; never observed power. */
  power: z.object({
    answers: count,
    meaningfulShare: z.number(),
    power: z.number().nullable(),
    smallestForPlan: count.nullable(),
  }),
  confidence: z.object({
    rows: z.array(z.object({ confidence, right: count, answers: count, ...interval.shape })),
    reading: z.string(),
  }),
  orders: z.object({
    /** In letters: A is the first arm above, B the second. */
    rows: z.array(z.object({ order: z.string(), served: count, right: count })),
    balanced: z.boolean(),
    reading: z.string(),
  }),
  positions: z.object({
    chosen: z.array(count).length(3),
    odd: z.array(count).length(3),
    p: z.number().nullable(),
    reading: z.string(),
  }),
  descriptors: z.object({
    rightAnswers: count,
    otherAnswers: count,
    rows: z.array(z.object({ word: z.string(), right: count, other: count })),
  }),
  comments: z.array(z.object({ right: z.boolean(), text: z.string() })),
  /** Only when trays were repeated by the same palates. */
  replicates: z
    .object({
      perAssessor: z.array(z.object({ answers: count, right: count, assessors: count })),
      designEffect: z.number().nullable(),
      effectiveAnswers: z.number().nullable(),
      reading: z.string(),
    })
    .nullable(),
  caveats: z.array(caveat),
  methods: z.array(methodNote),
});
export type TriangleResult = z.infer<typeof triangleResult>;

export const resultDocument = triangleResult;
export type ResultDocument = z.infer<typeof resultDocument>;
