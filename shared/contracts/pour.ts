import { z } from 'zod';
import { code, id, optionalText, text } from './common.ts';
import { cupMark } from './session.ts';
import { safetyJudgement } from './safety.ts';
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
export const looks = z.enum(['alike', 'differ', 'not-looked']);

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
});
export type ServingConditions = z.infer<typeof servingConditions>;

/** The steward's view: the key, by bottle. Nobody else gets it before the reveal. */
export const pourView = z.object({
  title: z.string(),
  fingerprint: z.string(),
  root: z.string(),
  demo: z.boolean(),
  trialId: id,
  cupMl: z.number(),
  servingNote: z.string(),
  /** Trays at each seat. */
  trays: z.number().int(),
  /** What was last noted of the cups as served; null: nothing yet. */
  conditions: servingConditions.nullable(),
  /** What each part is, for the tray map: kinds only. */
  parts: z.array(z.string()),
  /** One bottle in hand: an arm, spiked or not. */
  samples: z.array(
    z.object({
      id,
      arm: text(60),
      /** What is added before pouring; null for the arm as it is. */
      spike: z.string().nullable(),
      allergens: z.array(allergen),
      /** What the gate says of the arm now; null once pouring is over. */
      safety: safetyJudgement.nullable(),
      cups: z.array(cupToPour),
    }),
  ),
});
export type PourView = z.infer<typeof pourView>;

export const pourTickInput = z.object({ servingIds: z.array(id).min(1).max(1200), poured: z.boolean() });
export type PourTickInput = z.infer<typeof pourTickInput>;
export const pourTickAnswer = z.object({ poured: z.number().int() });
export type PourTickAnswer = z.infer<typeof pourTickAnswer>;
