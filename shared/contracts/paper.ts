import { z } from 'zod';
import { id, moment, token } from './common.ts';
import { name } from './name.ts';
import { sessionAtSeat, sheetAtSeat, trayAtSeat, word } from './seat.ts';
import { paperEntry } from './session.ts';

const seat = z.number().int().min(1).max(400);

/** waiting: nothing was entered. once: a second entry is due. differs: two entries differ. counts: its answers count. */
export const paperState = z.enum(['waiting', 'once', 'differs', 'counts']);
export type PaperState = z.infer<typeof paperState>;

/**
 * first, second: the ballot read off the paper, the second time without seeing the first. settled: the places that differed,
 * looked up on the paper. corrected: read off again after it counted. Entries are only ever added.
 */
export const entryStep = z.enum(['first', 'second', 'settled', 'corrected']);
export type EntryStep = z.infer<typeof entryStep>;

/** What is printed for one seat: what its tablet would show, and no answers. */
const printedTray = trayAtSeat.extend({
  sheets: z.array(sheetAtSeat.omit({ ballot: true, answeredBefore: true })),
});

export const printedBallot = z.object({
  seat,
  /** Of the ballot, as its QR holds it. */
  number: z.string(),
  spare: z.boolean(),
  trays: z.array(printedTray),
  /** Words in the seat's own order: of a print only those that stand on the sheet. */
  words: z.array(word),
});
export type PrintedBallot = z.infer<typeof printedBallot>;

export const paperPrint = z.object({
  session: sessionAtSeat,
  entered: paperEntry,
  /** Of the seats asked for, those that no tablet has. */
  ballots: z.array(printedBallot),
  /** Seats of the session that a tablet has taken. */
  onTablets: z.array(seat),
  /** Seats set aside for paper. */
  onPaper: z.array(seat),
  seats: z.number().int(),
  /** All words there are, for the table, where people write them; null where it was not asked for. */
  wordList: z.array(word.pick({ id: true, word: true, family: true })).nullable(),
});
export type PaperPrint = z.infer<typeof paperPrint>;

/** Which seats to print, and whether a list of all words goes with them. */
export const paperQuery = z
  .object({
    from: z.coerce.number().int().min(1).max(400),
    to: z.coerce.number().int().min(1).max(400),
    words: z.literal('yes'),
  })
  .partial();
export type PaperQuery = z.infer<typeof paperQuery>;

/** Seats that get their ballots on paper, or do so no more. */
export const setAsideInput = z.object({ seats: z.array(seat).min(1).max(400), paper: z.boolean() });
export type SetAsideInput = z.infer<typeof setAsideInput>;

/** A way to the desk for one device, once and until then: `<origin>/desk#<linkToken>`. */
export const deskOffer = z.object({ linkToken: token, until: moment });
export type DeskOffer = z.infer<typeof deskOffer>;

/** Who keeps the desk, in a name the panel knows them by. */
export const openDeskInput = z.object({ token, keeper: name(60) });
export type OpenDeskInput = z.infer<typeof openDeskInput>;
export const deskOpened = z.object({ deskToken: token });
export type DeskOpened = z.infer<typeof deskOpened>;

export const deskView = z.object({
  title: z.string(),
  demo: z.boolean(),
  /** Nothing in it is tasted. */
  rehearsal: z.boolean().default(false),
  open: z.boolean(),
  keeper: z.string(),
  entered: paperEntry,
  root: z.string(),
  ballots: z.array(
    z.object({
      seat,
      number: z.string(),
      state: z.enum([...paperState.options, 'tablet', 'free', 'withdrawn']),
    }),
  ),
});
export type DeskView = z.infer<typeof deskView>;

/** Spellings of places by their ids (`paper/field.ts`). */
export const paperValues = z.record(z.string().max(60), z.string().max(600));

/** One ballot at the desk: its places, what is due, and where two entries differ what both say there. */
export const deskBallot = z.object({
  seat,
  number: z.string(),
  state: paperState,
  due: entryStep,
  session: sessionAtSeat,
  trays: z.array(printedTray),
  words: z.array(word),
  /** Entries so far: who made them and when; what they say is told where it is due. */
  entries: z.array(z.object({ step: entryStep, keeper: z.string(), at: moment })),
  differing: z.object({ ids: z.array(z.string()), first: paperValues, second: paperValues }).nullable(),
  /** What counts, to be corrected; null while nothing does. */
  counting: paperValues.nullable(),
});
export type DeskBallot = z.infer<typeof deskBallot>;

/** An entry: `id` is made on the device, so that sending twice counts once. */
export const entryInput = z.object({ id, step: entryStep, values: paperValues });
export type EntryInput = z.infer<typeof entryInput>;

/** The way to the answers of a ballot on paper: its number, and the digits that the person wrote on it. */
export const paperReceiptInput = z.object({
  ballot: z
    .string()
    .transform((typed) => typed.replaceAll(/[\s·.-]/g, ''))
    .pipe(z.string().regex(/^\d{7}$/, 'The number has seven digits.')),
  digits: z
    .string()
    .transform((typed) => typed.replaceAll(/\s/g, ''))
    .pipe(z.string().regex(/^\d{6}$/, 'Six digits.')),
  /** Which tasting: the fingerprint of its seal, as on the slip, or the whole root. */
  fingerprint: z
    .string()
    .max(100)
    .transform((typed) => typed.toLowerCase().replaceAll(/[^0-9a-f]/g, ''))
    .pipe(z.string().regex(/^[0-9a-f]{12,64}$/, 'The fingerprint has twelve digits and letters.')),
});
export type PaperReceiptInput = z.infer<typeof paperReceiptInput>;
export const paperReceipt = z.object({ receiptToken: token, root: z.string() });
export type PaperReceipt = z.infer<typeof paperReceipt>;
