import { z } from 'zod';
import { day, id, moment, text } from './common.ts';

export const deviationInput = z.object({ on: day, note: text(500) });
export type DeviationInput = z.infer<typeof deviationInput>;

export const deviationView = z.object({
  id,
  on: day,
  note: z.string(),
  writtenBy: z.string(),
  writtenAt: moment,
});
export type DeviationView = z.infer<typeof deviationView>;
