import { z } from 'zod';
import { agreementResult } from './result-agreement.ts';
import { choiceResult, preferenceResult } from './result-choice.ts';
import { atReveal } from './reveal-record.ts';
import { sameDifferentResult } from './result-same-different.ts';
import { sessionFacts } from './result-common.ts';
import { siteComparison } from './result-sites.ts';
import { descriptionResult } from './result-description.ts';
import { rankingResult } from './result-ranking.ts';
import { controlResult, likingResult, ratingResult } from './result-rating.ts';

/** What one part of a revealed session says, by its kind. */
export const partResult = z.discriminatedUnion('kind', [
  choiceResult,
  preferenceResult,
  sameDifferentResult,
  descriptionResult,
  rankingResult,
  ratingResult,
  controlResult,
  likingResult,
]);
export type PartResult = z.infer<typeof partResult>;

/** A part that could not be worked out: its answers are kept, and the other parts stand. */
export const failedPart = z.object({
  part: z.number().int(),
  kind: z.string(),
  headline: z.string(),
  lede: z.string(),
});
export type FailedPart = z.infer<typeof failedPart>;

/**
 * What a revealed session says: findings, figures, notes and caveats of each part in order, versioned.
 * Holds no seat, code, time or name, so that a publication can stand on it.
 */
export const resultDocument = z.object({
  format: z.literal('oddglass-result-2'),
  session: sessionFacts,
  parts: z.array(partResult),
  /** Parts that are missing above. */
  failed: z.array(failedPart),
  /** Parts that are missing above because a later count beside that of the reveal would tell answers. */
  withheld: z.array(failedPart).optional(),
  /** What was found at the reveal, for good. Left out where it was revealed before that was kept. */
  atReveal: atReveal.optional(),
  /** How far the assessors agree; null where no part says so. */
  agreement: agreementResult.nullable(),
  /** Parts place by place; left out at one place, and where a later count by place would tell an answer. */
  bySite: z.array(siteComparison).optional(),
});
export type ResultDocument = z.infer<typeof resultDocument>;
