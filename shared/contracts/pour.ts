import { z } from 'zod';
import { code, id, text } from './common.ts';
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
