import { z } from 'zod';

const methodFacts = z.object({ method: z.string(), assumption: z.string(), source: z.string() });
const shared = {
  headline: z.string(),
  /** Sentences below it: how sure, and what it does not say. */
  says: z.array(z.string()),
  caveats: z.array(z.string()),
  methods: z.array(methodFacts),
  /** Trays that count; left out before turning; turned and found poured otherwise. */
  counted: z.number().int(),
  leftOut: z.number().int(),
  otherwise: z.number().int(),
};

export const soloDifferenceResult = z.object({
  kind: z.literal('difference'),
  ...shared,
  /** Trays answered as they were, and how many guessing gives on average. */
  found: z.number().int(),
  expected: z.number(),
  /** Fewest that speak for a difference after so many trays; null when none does. */
  needed: z.number().int().nullable(),
  verdict: z.enum(['difference', 'less', 'open']),
  /** Null where trays were stopped by lines, after which it no longer holds, and without trays. */
  p: z.number().nullable(),
  share: z
    .object({ estimate: z.number(), lower: z.number(), upper: z.number(), level: z.number() })
    .nullable(),
  dPrime: z
    .object({ estimate: z.number().nullable(), lower: z.number(), upper: z.number().nullable() })
    .nullable(),
});
export type SoloDifferenceResult = z.infer<typeof soloDifferenceResult>;

export const soloRatingResult = z.object({
  kind: z.literal('rating'),
  ...shared,
  attributes: z.array(
    z.object({
      id: z.string(),
      name: z.string(),
      low: z.string(),
      high: z.string(),
      trays: z.number().int(),
      means: z.array(z.object({ armId: z.string(), name: z.string(), mean: z.number().nullable() })),
      p: z.number().nullable(),
      adjusted: z.number().nullable(),
      says: z.string(),
    }),
  ),
});
export type SoloRatingResult = z.infer<typeof soloRatingResult>;

/** What one palate found. Never pooled with sessions, never published. */
export const soloResult = z.discriminatedUnion('kind', [soloDifferenceResult, soloRatingResult]);
export type SoloResult = z.infer<typeof soloResult>;
