import { z } from 'zod';
import { text } from './common.ts';
import { wordId } from './vocabulary.ts';

/** How much is added to how much of the arm. */
export const spikeDose = z.object({
  amount: z.number().gt(0, 'Above 0.').max(10_000, 'At most 10 000.'),
  /** As a kitchen says it: 'mL', 'g', 'mL of infusion (5 g in 100 mL)', 'tablet'. */
  unit: text(30),
  /** mL of the arm that this amount goes into. */
  perMl: z.number().min(1, 'At least 1 mL.').max(100_000, 'At most 100 L.'),
});
export type SpikeDose = z.infer<typeof spikeDose>;

/** The reference cup that a spike was chosen from, as it stood in the vocabulary. */
export const spikeReference = z.object({
  wordId,
  word: text(60),
  /** Which of the panel's own references of the word, from 0; null: the built-in one. */
  own: z.number().int().min(0).nullable(),
  how: text(500),
  caution: text(500),
  /** Alcohol of what is added, at most, % by volume; null: the reference does not tell. */
  abv: z.number().min(0).max(96).nullable(),
});
export type SpikeReference = z.infer<typeof spikeReference>;

/** Alcohol of the cup after adding, % by volume; 'none': what is added holds none; null: nobody knows. */
export const spikeAbv = z
  .union([z.number().min(0, 'Not below 0.').max(60, 'At most 60 %.'), z.literal('none')])
  .nullable();
export type SpikeAbv = z.infer<typeof spikeAbv>;
