import { z } from 'zod';
import { allergen, id, moment, optionalText, text } from './common.ts';
import { name } from './name.ts';
import { sessionSummary } from './session.ts';
import { deviationView } from './deviation.ts';
import { answeredFinding } from './fair-test.ts';
import { liquidView } from './liquid.ts';
import { armMaking, baseMaking, makingField } from './making.ts';
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
  /** What it is filled with, mL; in a change, what was counted beyond what sealed tastings hold back. */
  volumeMl,
  /** Alcohol by volume, per cent; null when unknown. Unknown is never taken as 0. */
  abv: abv.nullable(),
  allergens: z
    .array(allergen)
    .max(15)
    .refine((list) => new Set(list).size === list.length, 'Name each allergen once.'),
  /** How it was made; left out: nothing is known. */
  making: armMaking.optional(),
});
export type ArmInput = z.infer<typeof armInput>;

/** What a trial is about; each of it can be corrected. */
const trialWords = z.object({
  title: name(100),
  question: text(300),
  /** The one thing in which the arms differ. */
  factor: text(100),
  /** What they share: wort, yeast, vessel … */
  base: optionalText(500),
});
const factorFields = z
  .array(makingField)
  .max(makingField.options.length)
  .refine((list) => new Set(list).size === list.length, 'Name each field once.');

export const trialInput = z
  .object({
    ...trialWords.shape,
    base: trialWords.shape.base.default(''),
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

/** Corrections to the trial, kept with who and when. What a session sealed stays as it was sealed. */
export const trialChange = trialWords
  .extend({
    making: baseMaking,
    /** Fields of the arms that the factor is about. */
    factorFields,
    archived: z.boolean(),
  })
  .partial();
export type TrialChange = z.infer<typeof trialChange>;

/** Something that was written over: what it was, what it is since, who and when. */
export const changeView = z.object({
  /** Name of the arm; null: of the trial. */
  arm: z.string().nullable(),
  field: z.string(),
  before: z.string(),
  after: z.string(),
  writtenBy: z.string(),
  writtenAt: moment,
});
export type ChangeView = z.infer<typeof changeView>;

export const armView = z.object({
  id,
  name: z.string(),
  differs: z.string(),
  /** What a further plan can use, mL: left, and not held back for a tasting that is sealed. */
  volumeMl: z.number(),
  liquid: liquidView,
  abv: z.number().nullable(),
  allergens: z.array(allergen),
  making: armMaking,
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
  making: baseMaking,
  factorFields: z.array(makingField),
  createdAt: moment,
  archivedAt: moment.nullable(),
  arms: z.array(armView),
  /** What stands between the arms besides the factor, or is unknown; the gravest first. */
  fairTest: z.array(answeredFinding),
  /** Newest first. */
  changes: z.array(changeView),
  sessions: z.array(sessionSummary),
  /** Copies of its plans that were played without a drink. They are no tastings. */
  rehearsals: z.array(sessionSummary).default([]),
});
export type TrialView = z.infer<typeof trialView>;
