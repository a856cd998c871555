import { z } from 'zod';
import { sealedAnswers } from './answer-seal.ts';
import { day, token } from './common.ts';
import { consent } from './seat.ts';
import { sessionState } from './session.ts';

/**
 * The private link is `<origin>/receipt#<receiptToken>.<root>`. The token is made on the device of the seat, by chance, and
 * told to the server once: nothing else leads to it. With it goes the root of the seal as it stood that evening.
 */
export const receiptMade = z.object({ receiptToken: token });
export type ReceiptMade = z.infer<typeof receiptMade>;

/** One thing the assessor said. Samples and arms are named only after the reveal. */
export const receiptRow = z.object({
  part: z.number().int(),
  kind: z.string(),
  /** Running number of the tray at the seat, and place of the cup on it; null for what is said of a whole tray. */
  trayNumber: z.number().int(),
  position: z.number().int().nullable(),
  sample: z.string().nullable(),
  arm: z.string().nullable(),
  question: z.string(),
  value: z.union([z.string(), z.number()]).nullable(),
  unit: z.string(),
});
export type ReceiptRow = z.infer<typeof receiptRow>;

/** Own answers of one assessor, for whoever holds the receipt. */
export const receiptView = z.object({
  title: z.string(),
  state: sessionState,
  demo: z.boolean(),
  /** Nothing in it is tasted. */
  rehearsal: z.boolean().default(false),
  heldOn: day,
  fingerprint: z.string(),
  /** The whole root of the seal, to hold against the one in the link; empty before sealing. */
  root: z.string(),
  consent: consent.nullable(),
  withdrawn: z.boolean(),
  /** Own answers under the seal of all answers, once the tasting is closed; null where there is nothing to find. */
  sealed: sealedAnswers.nullable(),
  /** What was found at the reveal, part by part; empty before. */
  findings: z.array(z.object({ part: z.number().int(), headline: z.string() })),
  answers: z.array(receiptRow),
  /** Comments as written, with what they were written to. */
  comments: z.array(z.object({ part: z.number().int(), trayNumber: z.number().int(), text: z.string() })),
  /** Addresses of publications in which the session stands, withdrawn ones left out. */
  publishedAt: z.array(z.string()),
});
export type ReceiptView = z.infer<typeof receiptView>;
