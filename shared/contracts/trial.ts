import { z } from 'zod';
import { allergen, id, moment, optionalText, text } from './common.ts';
import { name } from './name.ts';
import { sessionSummary } from './session.ts';
import { deviationView } from './deviation.ts';
import { safetyView } from './safety.ts';

export { allergen, type Allergen } from './common.ts';

const volumeMl = z
  .number('Give the volume in millilitres.')
  .min(0, 'A volume cannot be below zero.')
  .max(10_000_000, 'That is more than ten cubic metres.');
const abv = z
  .number('Give per cent by volume, or leave it unknown.')
  .min(0, 'Alcohol cannot be below zero.')
  .max(100, 'Alcohol cannot be above 100 %.');

export const armInput = z.object({
  name: name(60),
  /** What differs from the other arms, in words. */
  differs: text(300),
  /** Liquid left, mL. */
  volumeMl,
  /** Alcohol by volume, per cent; null when unknown. Unknown is never taken as 0. */
  abv: abv.nullable(),
  allergens: z
    .array(allergen)
    .max(15)
    .refine((list) => new Set(list).size === list.length, 'Name each allergen once.'),
});
export type ArmInput = z.infer<typeof armInput>;

export const trialInput = z
  .object({
    title: name(100),
    question: text(300),
    /** The one thing in which the arms differ. */
    factor: text(100),
    /** What they share: wort, yeast, vessel … */
    base: optionalText(500).default(''),
    arms: z
      .array(armInput)
      .min(2, 'A trial compares at least two arms.')
      .max(8, 'A trial has at most eight arms.'),
  })
  .superRefine((trial, context) => {
    const seen = new Map<string, number>();
    trial.arms.forEach((arm, index) => {
      const key = arm.name.toLocaleLowerCase('en');
      if (seen.has(key)) {
        context.addIssue({
          code: 'custom',
          path: ['arms', index, 'name'],
          message: 'Two arms have this name.',
        });
      }
      seen.set(key, index);
    });
  });
export type TrialInput = z.infer<typeof trialInput>;

/** Changes to one arm. Name and difference are fixed once a session with the arm is sealed. */
export const armChange = armInput.partial();
export type ArmChange = z.infer<typeof armChange>;

export const armView = z.object({
  id,
  name: z.string(),
  differs: z.string(),
  volumeMl: z.number(),
  abv: z.number().nullable(),
  allergens: z.array(allergen),
  sealed: z.boolean(),
  deviations: z.array(deviationView),
  /** What was last seen and measured of it; null: nobody has looked. */
  safety: safetyView.nullable(),
});
export type ArmView = z.infer<typeof armView>;

export const trialView = z.object({
  id,
  panelId: id,
  panelName: z.string(),
  demo: z.boolean(),
  title: z.string(),
  question: z.string(),
  factor: z.string(),
  base: z.string(),
  createdAt: moment,
  arms: z.array(armView),
  sessions: z.array(sessionSummary),
});
export type TrialView = z.infer<typeof trialView>;
