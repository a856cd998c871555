import { z } from 'zod';
import { ballotReceipt } from './ballot.ts';
import { code, id, moment, token } from './common.ts';
import { attribute, lateQuestion, ratingScale } from './part.ts';
import { servingOnTray, sessionState } from './session.ts';
import { siteRun } from './site.ts';
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
  /** Of something on the table nobody knows which allergens it holds. Tablets may hold a view from before this was told. */
  allergensUnknown: z.boolean().default(false),
  /** Ethanol if everything is swallowed, g; null when an ABV is unknown. */
  ethanolGrams: z.number().nullable(),
  cups: z.number().int(),
  cupMl: z.number(),
});
export type Cautions = z.infer<typeof cautions>;

/** What an assessor may know of a part: its question, never its samples. */
export const partAtSeat = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('triangle') }),
  z.object({ kind: z.literal('duo-trio') }),
  z.object({ kind: z.literal('tetrad') }),
  z.object({ kind: z.literal('two-out-of-five') }),
  z.object({ kind: z.literal('three-afc'), attribute: z.string() }),
  z.object({ kind: z.literal('directional-pair'), attribute: z.string() }),
  z.object({ kind: z.literal('preference'), noPreference: z.boolean() }),
  z.object({ kind: z.literal('same-different') }),
  z.object({
    kind: z.literal('rating'),
    attributes: z.array(attribute),
    scale: ratingScale,
    by: z.enum(['sample', 'attribute']),
    returning: z.boolean(),
  }),
  z.object({
    kind: z.literal('description'),
    words: z.array(z.string()).nullable(),
    intensity: z.boolean(),
    late: lateQuestion.optional(),
  }),
  z.object({ kind: z.literal('control'), degrees: z.array(z.string()) }),
  z.object({ kind: z.literal('liking') }),
  z.object({ kind: z.literal('ranking'), attribute: z.string() }),
]);
export type PartAtSeat = z.infer<typeof partAtSeat>;

/** What an assessor may know of the session. */
export const sessionAtSeat = z.object({
  title: z.string(),
  state: sessionState,
  demo: z.boolean(),
  /** A rehearsal: nothing is tasted. Tablets may hold a view from before this was told. */
  rehearsal: z.boolean().default(false),
  masking: z.boolean(),
  /** The cups are smelled and not tasted. */
  smellOnly: z.boolean(),
  /** The host has found something: nothing more is tasted. */
  stopped: z.boolean(),
  parts: z.array(partAtSeat),
  /** Trays at each seat. */
  trays: z.number().int(),
  restSeconds: z.number().int(),
  fingerprint: z.string(),
  /** The whole root of the seal; empty before sealing, and in views from before it was told. */
  root: z.string().default(''),
  /** People sit down in waves, and hand tablets on; left out: everybody at once. */
  inWaves: z.literal(true).optional(),
  /** Root over all answers, once the tasting is closed; null before. */
  answersRoot: z.string().nullable().default(null),
  cautions,
});
export type SessionAtSeat = z.infer<typeof sessionAtSeat>;

export const joinOffer = z.object({
  session: sessionAtSeat,
  /** In waves only seats of those that are called. */
  seats: z.array(z.object({ number: z.number().int(), free: z.boolean() })),
  /** The wave called last, of so many, and its first seat; left out: everybody sits down at once. */
  wave: z.object({ called: z.number().int(), of: z.number().int(), from: z.number().int() }).optional(),
  /** Where these seats stand, where the tasting is held at several places. */
  sites: z.array(siteRun).optional(),
});
export type JoinOffer = z.infer<typeof joinOffer>;
/** What a device brings that goes on with a seat. */
export const moveInput = z.object({ token });
export type MoveInput = z.infer<typeof moveInput>;
export const seatTaken = z.object({ seat: z.number().int(), seatToken: token });
export type SeatTaken = z.infer<typeof seatTaken>;

/** What a tablet gets that is handed on: the way in that the QR holds, for the next person. */
export const passedOn = z.object({ token });
export type PassedOn = z.infer<typeof passedOn>;

/** Where an assessor is within a tray. */
export const step = z.enum([
  'tasting',
  'choosing',
  'answering',
  'describing',
  'reviewing',
  'resting',
  'finished',
]);
export type Step = z.infer<typeof step>;
export const progress = z.object({
  /** Running number of the tray at the seat, from 1. */
  trayNumber: z.number().int().min(1).max(20),
  /** The sheet in hand: its part, and its number within part and tray. */
  part: z.number().int().min(1).max(4),
  sheet: z.number().int().min(1).max(40),
  step,
  /** The cup in hand, from 1, while tasting; otherwise null. */
  position: z.number().int().min(1).max(16).nullable(),
});
export type Progress = z.infer<typeof progress>;

/** A word to choose. Synonyms, everyday likenesses and the meaning are there for the search, on the tablet, without network. */
export const word = z.object({
  id: z.string(),
  word: z.string(),
  family: z.string(),
  meaning: z.string(),
  /** Other names it is found by. */
  found: z.array(z.string()),
});
export type Word = z.infer<typeof word>;

/** Where a sheet lies: cups and attributes it asks about (`rules/parts.ts`), and the ballot if there is one. */
export const sheetAtSeat = z.object({
  part: z.number().int(),
  sheet: z.number().int(),
  codes: z.array(code),
  attributeIds: z.array(z.string()),
  /** It is the late question of its cup. */
  late: z.boolean().optional(),
  ballot: ballotReceipt.nullable(),
  /** Answered before the seat was handed over to this device: that it is there is told, what it says is not. */
  answeredBefore: z.boolean().default(false),
});
export type SheetAtSeat = z.infer<typeof sheetAtSeat>;

export const trayAtSeat = z.object({
  id,
  /** Running number at the seat, from 1. */
  trayNumber: z.number().int(),
  /** The part it was poured for, from 1. */
  part: z.number().int(),
  /** To get used to the cups: what is said on it does not count. */
  warmUp: z.boolean(),
  servings: z.array(servingOnTray),
  /** Everything asked on it, in order. */
  sheets: z.array(sheetAtSeat),
});
export type TrayAtSeat = z.infer<typeof trayAtSeat>;

/** What an assessor agrees to beyond numbers of a panel of five or more. Nothing is agreed to unless it is said. */
export const consent = z.object({
  /** Own answers as rows under a label drawn afresh, if everybody else says so too. */
  rows: z.boolean(),
  /** Being one of fewer than five people whose answers are told together. */
  smallGroup: z.boolean(),
});
export type Consent = z.infer<typeof consent>;

/** Everything a seat needs to work through its trays, also without network. */
export const seatView = z.object({
  seat: z.number().int(),
  session: sessionAtSeat,
  cautionsConfirmedAt: moment.nullable(),
  /** Null: not asked yet, which counts as no. May change until the session closes. */
  consent: consent.nullable(),
  /** The answers were taken back by the receipt: nothing more is asked here. */
  withdrawn: z.boolean(),
  /** The seat was handed over to this device by the host. */
  handedOver: z.boolean().default(false),
  trays: z.array(trayAtSeat),
  progress: progress.nullable(),
  /** Rest left before the next tray, ms, by the server's clock. */
  restLeftMs: z.number().int().min(0),
  /** Words to choose from, in an order of this seat's own that stays the same. */
  words: z.array(word),
});
export type SeatView = z.infer<typeof seatView>;
