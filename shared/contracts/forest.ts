import { z } from 'zod';

const limit = z.number().nullable();

/** The same question over several sessions, each with its size, and how much they vary beyond chance. */
export const forest = z.object({
  /** 'Triangle test, Cool and Warm'. */
  name: z.string(),
  measure: z.enum(['d-prime', 'share', 'marks']),
  rows: z.array(
    z.object({
      /** Id or number of the session, and its day or month. */
      session: z.string(),
      part: z.number().int(),
      name: z.string(),
      on: z.string(),
      n: z.number().int(),
      /** null: without a bound. */
      effect: limit,
      lower: limit,
      upper: limit,
      level: limit,
      /** Is it in Q, I2 and the mean? */
      counts: z.boolean(),
    }),
  ),
  /** Null where it cannot be had: fewer than two sessions with an error of their own, or one with two such parts. */
  heterogeneity: z
    .object({
      q: z.number(),
      df: z.number().int(),
      iSquared: z
        .object({ estimate: z.number(), lower: z.number(), upper: z.number(), level: z.number() })
        .nullable(),
    })
    .nullable(),
  /** In the unit of the rows; null below three sessions. Limits null: without a bound. */
  pooled: z.object({ effect: limit, lower: limit, upper: limit, level: z.number() }).nullable(),
  sentence: z.string(),
});
export type Forest = z.infer<typeof forest>;
