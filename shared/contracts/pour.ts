import { z } from 'zod';
import { code, id, moment, optionalText, text } from './common.ts';
import { cupMark } from './session.ts';
import { waves } from './waves.ts';
import { siteRun } from './site.ts';
import { safetyJudgement } from './safety.ts';
import { spikeDose } from './spike.ts';
import { allergen } from './trial.ts';

export const cupToPour = z.object({
  servingId: id,
  code,
  mark: cupMark.nullable(),
  seat: z.number().int(),
  /** Running number of the tray at the seat, and the part it is for. */
  trayNumber: z.number().int(),
  part: z.number().int(),
  position: z.number().int(),
  /** At a seat kept for latecomers: pour it when the seat is taken. */
  spare: z.boolean(),
  seatTaken: z.boolean(),
  poured: z.boolean(),
});
export type CupToPour = z.infer<typeof cupToPour>;

/** Did the arms look alike in the cups? */
export const looks = z.enum(
  ['alike', 'differ', 'not-looked'],
  'Say whether they look alike, or that nobody looked.',
);

/** What whoever pours notes of the cups as they are served. */
export const servingConditions = z.object({
  /** Of the liquid in the cup, degrees Celsius; null: not measured. */
  temperatureC: z
    .number('Give the temperature as a number, or leave it out.')
    .min(-5, 'Below -5 °C it is frozen: look at the number again.')
    .max(60, 'Above 60 °C: look at the number again.')
    .nullable(),
  looks,
  /** How they differ to the eye. It may name arms: nobody without the key reads it before the reveal. */
  how: optionalText(300),
  /** Of several places: which one this was noted at, how the bottles or cups came there, and how long cups had stood. */
  site: z.number().int().min(1).max(8).optional(),
  transport: optionalText(200).optional(),
  minutesSincePour: z
    .number('Give the minutes as a number, or leave them out.')
    .min(0, 'Not before they were poured.')
    .max(1440, 'Above a day: look at the number again.')
    .nullable()
    .optional(),
});
export type ServingConditions = z.infer<typeof servingConditions>;

/** The newest measurement of a spiked bottle, and whether it may be poured. Names are for those who have the key. */
export const dilution = z.object({
  /** Number of the measurement, for whoever confirms it. */
  measurement: z.number().int(),
  /** What went in, as it was measured. */
  amount: z.string(),
  /** mL of the whole. */
  volumeMl: z.number(),
  /** Null for an account that is gone. */
  measuredBy: z.string().nullable(),
  byYou: z.boolean(),
  measuredAt: moment,
  /** waiting: no cup may be poured yet. */
  standing: z.enum(['waiting', 'checked', 'alone', 'others-absent']),
  settledBy: z.string().nullable(),
  settledAt: moment.nullable(),
});
export type Dilution = z.infer<typeof dilution>;

/** The steward's view: the key, by bottle. Nobody else gets it before the reveal. */
export const pourView = z.object({
  title: z.string(),
  fingerprint: z.string(),
  root: z.string(),
  demo: z.boolean(),
  /** A rehearsal: nothing is poured. */
  rehearsal: z.boolean().default(false),
  trialId: id,
  cupMl: z.number(),
  servingNote: z.string(),
  /** Trays at each seat. */
  trays: z.number().int(),
  /** How seats are called; left out: all at once. */
  waves: waves.optional(),
  /** What was last noted of the cups as served; null: nothing yet. */
  conditions: servingConditions.nullable(),
  /** Several places with their seats, and what was last noted at each; left out at one place. */
  sites: z.array(siteRun).optional(),
  siteConditions: z.array(servingConditions).optional(),
  /** What each part is, for the tray map: kinds only. */
  parts: z.array(z.string()),
  /** One bottle in hand: an arm, spiked or not. */
  samples: z.array(
    z.object({
      id,
      arm: text(60),
      /** What is added before pouring; null for the arm as it is. */
      spike: z.string().nullable(),
      /** Of the arm and of what is added. */
      allergens: z.array(allergen),
      /** What the gate says of the arm now; null once pouring is over. */
      safety: safetyJudgement.nullable(),
      /** Nobody knows, or told, which allergens the addition holds. */
      allergensUnknown: z.boolean(),
      /** How much of it to how much of the arm, where that was told in numbers. */
      dose: spikeDose.nullable(),
      /** The recipe of the reference cup it was chosen from. */
      recipe: z.object({ how: z.string(), caution: z.string() }).nullable(),
      /** Null before anybody measured, and for an arm as it is. */
      dilution: dilution.nullable(),
      cups: z.array(cupToPour),
    }),
  ),
  /** Names of the other accounts that have the key, while cups are poured. */
  othersWithKey: z.array(z.string()),
});
export type PourView = z.infer<typeof pourView>;

export const pourTickInput = z.object({ servingIds: z.array(id).min(1).max(1200), poured: z.boolean() });
export type PourTickInput = z.infer<typeof pourTickInput>;
export const pourTickAnswer = z.object({ poured: z.number().int() });
export type PourTickAnswer = z.infer<typeof pourTickAnswer>;

/** Somebody measured: what went into how much. `sampleId` is that of the bottle in `pourView`. */
export const dilutionInput = z.object({
  sampleId: id,
  amount: text(80),
  volumeMl: z.number().gt(0, 'Above 0 mL.').max(1_000_000, 'That is more than a thousand litres.'),
});
export type DilutionInput = z.infer<typeof dilutionInput>;

/**
 * second: another account confirms what was measured. alone: nobody else has the key. others-absent: others have it, and none
 * of them is there. The last two are for whoever measured, and are told in the result.
 */
export const dilutionCheckInput = z.object({
  sampleId: id,
  /** The measurement that was looked at. */
  measurement: z.number().int().min(1),
  by: z.enum(['second', 'alone', 'others-absent']),
});
export type DilutionCheckInput = z.infer<typeof dilutionCheckInput>;
