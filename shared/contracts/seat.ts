import { z } from 'zod';
import { ballotReceipt } from './ballot.ts';
import { id, moment, token } from './common.ts';
import { servingOnTray, sessionState } from './session.ts';
import { allergen } from './trial.ts';

const joinCode = z
  .string()
  .trim()
  .toUpperCase()
  .transform((value) => value.replace(/[\s·.-]/g, ''))
  .pipe(z.string().regex(/^[0-9A-Z]{8}$/, 'The code has eight letters and digits.'));

/** The way in: the token of the QR, or the typed code. */
export const joinInput = z.union([z.object({ token }), z.object({ code: joinCode })]);
export type JoinInput = z.infer<typeof joinInput>;
export const takeSeatInput = z.union([
  z.object({ token, seat: z.number().int().min(1).max(400) }),
  z.object({ code: joinCode, seat: z.number().int().min(1).max(400) }),
]);
export type TakeSeatInput = z.infer<typeof takeSeatInput>;

/** Cautions for everybody at the table: united over the samples, so that they tell nothing about a cup. */
export const cautions = z.object({
  allergens: z.array(allergen),
  /** Ethanol if everything is swallowed, g; null when an ABV is unknown. */
  ethanolGrams: z.number().nullable(),
  cups: z.number().int(),
  cupMl: z.number(),
});
export type Cautions = z.infer<typeof cautions>;

/** What an assessor may know of the session. */
export const sessionAtSeat = z.object({
  title: z.string(),
  state: sessionState,
  demo: z.boolean(),
  masking: z.boolean(),
  replicates: z.number().int(),
  restSeconds: z.number().int(),
  fingerprint: z.string(),
  cautions,
});
export type SessionAtSeat = z.infer<typeof sessionAtSeat>;

export const joinOffer = z.object({
  session: sessionAtSeat,
  seats: z.array(z.object({ number: z.number().int(), free: z.boolean() })),
});
export type JoinOffer = z.infer<typeof joinOffer>;
export const seatTaken = z.object({ seat: z.number().int(), seatToken: token });
export type SeatTaken = z.infer<typeof seatTaken>;

/** Where an assessor is within a tray. */
export const step = z.enum(['tasting', 'choosing', 'describing', 'reviewing', 'resting', 'finished']);
export type Step = z.infer<typeof step>;
export const progress = z.object({
  replicate: z.number().int().min(1).max(4),
  step,
  /** The cup in hand, 1 to 3, while tasting; otherwise null. */
  position: z.number().int().min(1).max(3).nullable(),
});
export type Progress = z.infer<typeof progress>;

export const word = z.object({ id: z.string(), word: z.string(), family: z.string() });
export type Word = z.infer<typeof word>;

/** Everything a seat needs to work through its trays, also without network. */
export const seatView = z.object({
  seat: z.number().int(),
  session: sessionAtSeat,
  cautionsConfirmedAt: moment.nullable(),
  trays: z.array(
    z.object({
      id,
      replicate: z.number().int(),
      servings: z.array(servingOnTray),
      ballot: ballotReceipt.nullable(),
    }),
  ),
  progress: progress.nullable(),
  /** Rest left before the next tray, ms, by the server's clock. */
  restLeftMs: z.number().int().min(0),
  /** Words to choose from, in an order of this seat's own that stays the same. */
  words: z.array(word),
});
export type SeatView = z.infer<typeof seatView>;
