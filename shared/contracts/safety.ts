import { z } from 'zod';
import { day, moment } from './common.ts';

const told = z.boolean().nullable();

/** What somebody saw and measured of an arm before it is poured. Null: not known, which is never taken for harmless. */
export const safetyFacts = z.object({
  /** Mould, or a growth that nobody can name. */
  mould: told,
  hopped: told,
  /** Stood closed and unchilled for more than a day before it was pitched. */
  stoodWarm: told,
  /** Gravity still falls, or nobody waited to see that it does not. */
  gravityFalling: told,
  /** Null: not pitched, or nobody knows when. */
  pitchedOn: day.nullable(),
  ph: z
    .number('Give the pH as a number, or leave it out.')
    .min(0, 'pH starts at 0.')
    .max(14, 'pH ends at 14.')
    .nullable(),
  phOn: day.nullable(),
  meterCalibratedOn: day.nullable(),
});
export type SafetyFacts = z.infer<typeof safetyFacts>;

export const safetyVerdict = z.enum(['taste', 'smell', 'refuse']);
export type SafetyVerdict = z.infer<typeof safetyVerdict>;

/** What the gate makes of the facts (`rules/safety-gate.ts`). */
export const safetyJudgement = z.object({
  verdict: safetyVerdict,
  /** All that speaks against tasting, the gravest first; empty for 'taste'. */
  reasons: z.array(
    z.enum([
      'not-looked-at',
      'mould',
      'stood-warm',
      'ph-missing',
      'ph-above-4.6',
      'ph-from-4.0',
      'young-unhopped',
    ]),
  ),
  /** What is to be said although it may be tasted. */
  warnings: z.array(z.enum(['pressure', 'alcohol-unknown', 'stood-warm-fermented', 'unhopped'])),
});
export type SafetyJudgement = z.infer<typeof safetyJudgement>;

/** The facts as they were last written. Never edited: who looks again writes them anew. */
export const safetyView = safetyFacts.extend({ writtenBy: z.string(), writtenAt: moment });
export type SafetyView = z.infer<typeof safetyView>;
