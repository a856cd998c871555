import { z } from 'zod';
import { day, id, moment, text } from './common.ts';
import { sign } from './fair-test.ts';

export const deviationInput = z.object({
  on: day,
  note: text(500),
  /** What it is a sign of, where it is one that the fair-test check knows. */
  sign: sign.nullable().default(null),
});
export type DeviationInput = z.infer<typeof deviationInput>;

export const deviationView = z.object({
  id,
  on: day,
  note: z.string(),
  sign: sign.nullable(),
  writtenBy: z.string(),
  writtenAt: moment,
});
export type DeviationView = z.infer<typeof deviationView>;
