import { z } from 'zod';
import { sameDifferentPart } from './part.ts';
import { choiceResult } from './result-choice.ts';
import { count, partFrame, share } from './result-common.ts';

/** Pairs of one sort; `said`: how many were called different. Null: withheld. */
const pairs = z.object({ answers: count, said: count.nullable() });

/**
 * Whether two arms can be told apart when people said of pairs that they are the same or different. False alarms stand beside
 * hits everywhere, or neither is told: one without the other says nothing.
 */
export const sameDifferentResult = z.object({
  ...partFrame.shape,
  finding: partFrame.shape.finding.extend({
    verdict: z.enum(['no-data', 'difference-shown', 'difference-not-shown']),
  }),
  kind: z.literal('same-different'),
  settings: sameDifferentPart,
  pairs: z.object({ different: pairs, same: pairs }),
  test: z.object({
    /** fisher: one tray each, compared between people. mcnemar: two trays of one person, compared within them. */
    method: z.enum(['fisher', 'mcnemar']),
    side: z.literal('greater'),
    answers: count,
    /** Answers that named the sort of the pair. Null: withheld. */
    counted: count.nullable(),
    /** Trays in twos whose answers differ, and of these how many called the pair that differs so; null where compared between people. */
    unlike: z.object({ twos: count, named: count }).nullable(),
    /** Answers that are not in the test, since the other tray of the two stayed unanswered. */
    leftOut: count,
    p: share,
    alpha: z.number(),
    /** Smallest p that so many answers, so often 'different', could have given. Null: withheld. */
    smallestP: share.nullable(),
  }),
  /** By the differencing model, with the interval that pairs with the one-sided test; null without answers to both sorts. */
  dPrime: z
    .object({
      estimate: z.number().nullable(),
      standardError: z.number().nullable(),
      level: z.number(),
      lower: z.number(),
      upper: z.number().nullable(),
      /** How far apart two percepts lay before they were called different; null where nobody gave a false alarm. */
      criterion: z.number().nullable(),
      /** What an answer counts for in error and limits: less than 1 where palates had several pairs of one sort. */
      weight: z.number(),
    })
    .nullable(),
  /** Power of the palates that answered, for the difference planned; never observed power. */
  power: z.object({
    assessors: count,
    dPrime: z.number(),
    power: share.nullable(),
    smallestForPlan: count.nullable(),
  }),
  confidence: choiceResult.shape.confidence,
  orders: choiceResult.shape.orders,
  descriptors: z.object({
    /** Answers 'different' and 'the same'. Null: withheld. */
    different: count.nullable(),
    same: count.nullable(),
    rows: z.array(z.object({ word: z.string(), different: count, same: count })),
  }),
  /** With what was said of the pair. */
  comments: z.array(z.object({ different: z.boolean(), text: z.string() })),
});
export type SameDifferentResult = z.infer<typeof sameDifferentResult>;
