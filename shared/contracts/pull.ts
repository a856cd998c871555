import { z } from 'zod';
import { day, id, moment, optionalText } from './common.ts';
import { name } from './name.ts';
import { photoView } from './photo.ts';
import { readingView } from './reading.ts';

/** Ten years: longer than any trial we know of; a bound of our own. */
const MAX_HOURS = 87_600;

/** When a pull is planned: so long after pitching, on a day, or not planned but taken now. */
export const pullWhen = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('hours'),
    /** After pitching. */
    hours: z
      .number('Give the hours after pitching.')
      .min(0, 'A pull cannot be before pitching; plan it by its date.')
      .max(MAX_HOURS, 'That is more than ten years after pitching.'),
  }),
  z.object({ kind: z.literal('day'), on: day }),
  z.object({ kind: z.literal('unplanned'), at: moment }),
]);
export type PullWhen = z.infer<typeof pullWhen>;

const millilitres = z
  .number('Give the millilitres of each arm, or leave it out.')
  .min(0, 'A volume cannot be below zero.')
  .max(10_000_000, 'That is more than ten cubic metres.');

export const pullInput = z.object({
  /** Made by the device: sending it twice plans it once. */
  id,
  name: name(60),
  when: pullWhen,
  /** Planned to be taken of each arm, mL; null: not said. */
  mlPerArm: millilitres.nullable().default(null),
  note: optionalText(500).default(''),
});
export type PullInput = z.infer<typeof pullInput>;

/** Pulls of one trial, planned in one go. */
export const pullsInput = z.object({ pulls: z.array(pullInput).min(1, 'Plan one pull at least.').max(60) });
export type PullsInput = z.infer<typeof pullsInput>;

/** The most pulls of one trial, cancelled ones included. A bound of our own. */
export const MAX_PULLS = 200;

/** Changes to a pull that has no reading yet. */
export const pullChange = z.object({
  name: name(60).optional(),
  when: pullWhen.optional(),
  mlPerArm: millilitres.nullable().optional(),
  note: optionalText(500).optional(),
});
export type PullChange = z.infer<typeof pullChange>;

/** Time zero of the trial; null: not pitched yet. */
export const pitchedInput = z.object({ pitchedAt: moment.nullable() });
export type PitchedInput = z.infer<typeof pitchedInput>;

export const pullView = z.object({
  id,
  name: z.string(),
  when: pullWhen,
  mlPerArm: z.number().nullable(),
  note: z.string(),
  cancelledAt: moment.nullable(),
  /** Every row, in the order in which they were written; `current` ones count, the others were corrected. */
  readings: z.array(readingView),
  photos: z.array(photoView),
});
export type PullView = z.infer<typeof pullView>;

/** The notebook of one trial: its arms, when it was pitched, and its pulls in the order in which they come. */
export const trialPulls = z.object({
  trial: id,
  panel: id,
  title: z.string(),
  demo: z.boolean(),
  pitchedAt: moment.nullable(),
  arms: z.array(z.object({ id, name: z.string(), differs: z.string(), volumeMl: z.number() })),
  pulls: z.array(pullView),
});
export type TrialPulls = z.infer<typeof trialPulls>;

/** What is due in a whole panel. */
export const panelPulls = z.object({
  pulls: z.array(
    z.object({
      trial: id,
      title: z.string(),
      pitchedAt: moment.nullable(),
      pull: pullView.pick({ id: true, name: true, when: true, mlPerArm: true }),
      /** Arms read so far, and all. */
      read: z.number().int(),
      arms: z.number().int(),
    }),
  ),
});
export type PanelPulls = z.infer<typeof panelPulls>;
