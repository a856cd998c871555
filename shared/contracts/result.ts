import { z } from 'zod';
import { agreementResult } from './result-agreement.ts';
import { choiceResult, preferenceResult } from './result-choice.ts';
import { sessionFacts } from './result-common.ts';
import { descriptionResult } from './result-description.ts';
import { rankingResult } from './result-ranking.ts';
import { controlResult, likingResult, ratingResult } from './result-rating.ts';

/** What one part of a revealed session says, by its kind. */
export const partResult = z.discriminatedUnion('kind', [
  choiceResult,
  preferenceResult,
  descriptionResult,
  rankingResult,
  ratingResult,
  controlResult,
  likingResult,
]);
export type PartResult = z.infer<typeof partResult>;

/**
 * What a revealed session says: findings, figures, notes and caveats of each part in order, versioned.
 * Holds no seat, code, time or name, so that a publication can stand on it.
 */
export const resultDocument = z.object({
  format: z.literal('oddglass-result-2'),
  session: sessionFacts,
  parts: z.array(partResult),
  /** How far the assessors agree; null where no part says so. */
  agreement: agreementResult.nullable(),
});
export type ResultDocument = z.infer<typeof resultDocument>;
