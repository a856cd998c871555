import { z } from 'zod';
import { code, id, moment, optionalText } from './common.ts';

export const confidence = z.enum(['certain', 'fairly-sure', 'guess']);
export type Confidence = z.infer<typeof confidence>;

/** One assessor's answer on one tray. `id` is made on the device, so that sending twice counts once. */
export const ballotInput = z.object({
  id,
  trayId: id,
  /** Code of the cup chosen as the odd one. Forced choice: there is no 'no difference'. */
  odd: code,
  confidence,
  /** Ids of descriptors that told it apart; asked after the choice. */
  descriptors: z
    .array(z.string().regex(/^[a-z][a-z-]{1,40}$/))
    .max(12, 'Choose at most twelve words.')
    .refine((list) => new Set(list).size === list.length, 'Choose each word once.'),
  comment: optionalText(500),
});
export type BallotInput = z.infer<typeof ballotInput>;

/** What the server has on disk for a tray: the acknowledgement of a ballot. */
export const ballotReceipt = z.object({
  id,
  trayId: id,
  replicate: z.number().int(),
  odd: code,
  confidence,
  descriptors: z.array(z.string()),
  comment: z.string(),
  receivedAt: moment,
});
export type BallotReceipt = z.infer<typeof ballotReceipt>;
