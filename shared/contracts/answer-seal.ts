import { z } from 'zod';

const hash = z.string().regex(/^[0-9a-f]{64}$/);

/**
 * The answers of one seat under the seal of all answers that was made when the tasting closed: text of the leaf, and the
 * path (hex, from the leaf upwards) that leads to the root.
 */
export const sealedAnswers = z.object({
  root: hash,
  index: z.number().int().min(0),
  size: z.number().int().min(1),
  text: z.string(),
  proof: z.array(hash),
});
export type SealedAnswers = z.infer<typeof sealedAnswers>;
