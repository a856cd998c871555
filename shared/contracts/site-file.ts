import { z } from 'zod';
import { ballotInput, swallowing } from './ballot.ts';
import { allergen, code, day, id, moment, optionalText, text } from './common.ts';
import { sign } from './fair-test.ts';
import { sampleRole } from './part.ts';
import { servingConditions } from './pour.ts';
import { keyReaders } from './result-common.ts';
import { consent } from './seat.ts';
import { blinding, cupMark, sessionSettings } from './session.ts';
import { siteNumber } from './site.ts';
import { vocabularyChange } from './vocabulary.ts';

// A place without network is served by a server of its own: one file takes the plan of its seats there, another one
// brings the ballots back. Both are canonical JSON (RFC 8785) with everything that tells something enciphered.

const root = z.string().regex(/^[0-9a-f]{64}$/, 'This is no root of a seal.');
const bytes = z.string().regex(/^[A-Za-z0-9_-]+$/, 'This is not base64url.');

/** Which tasting and place a server pours for, when the plan was sealed on another one. No secret. */
export const guestOf = z.object({
  /** The session on the server that sealed it, and its panel. */
  session: id,
  panel: z.string(),
  /** This place, of how many, and the number there of its first seat, which is seat 1 here. */
  site: siteNumber,
  name: z.string(),
  sites: z.number().int(),
  firstSeat: z.number().int(),
});
export type GuestOf = z.infer<typeof guestOf>;

/** What a server needs to pour and ask at one place. It holds the key of the seats of this place. */
export const sitePlan = z.object({
  guest: guestOf,
  root,
  /** 32 bytes, base64url: what the ballots are closed with. */
  secret: bytes,
  trial: z.object({ title: text(120), question: text(300), factor: text(100) }),
  arms: z
    .array(
      z.object({
        id,
        name: text(60),
        differs: optionalText(300),
        abv: z.number().nullable(),
        allergens: z.array(allergen),
        /** mL that the seats here can need at most. */
        volumeMl: z.number(),
      }),
    )
    .min(1),
  /** With the people of this place, and no other place in it. */
  settings: sessionSettings,
  vocabulary: z.object({ edition: z.number().int(), changes: z.array(vocabularyChange) }),
  samples: z.array(
    z.object({
      id,
      armId: id,
      part: z.number().int(),
      place: z.number().int(),
      role: sampleRole,
      spike: z.string().nullable(),
      control: z.enum(['marked', 'hidden']).nullable(),
    }),
  ),
  seats: z
    .array(
      z.object({
        id,
        /** Its number where it was sealed. */
        seat: z.number().int(),
        spare: z.boolean(),
        trays: z.array(
          z.object({
            id,
            number: z.number().int(),
            part: z.number().int(),
            replicate: z.number().int(),
            servings: z.array(
              z.object({ id, position: z.number().int(), code, mark: cupMark.nullable(), sampleId: id }),
            ),
          }),
        ),
      }),
    )
    .min(1),
});
export type SitePlan = z.infer<typeof sitePlan>;

/** The file of a place as it lies on a stick: root and place to be read, the rest enciphered under a code told apart. */
export const sitePlanFile = z.strictObject({
  format: z.literal('oddglass-site-plan-1', 'This is no file of a place.'),
  root,
  site: siteNumber,
  salt: bytes,
  sealed: bytes,
});

/** A ballot of a place: as its tablet sent it, with the cups of its tray by the ids under which they were sealed. */
export const siteBallot = ballotInput.extend({
  swallowing: swallowing.nullable(),
  servings: z.array(id),
  holder: z.number().int().min(0),
  receivedAt: moment,
  /** It was read off paper. */
  paper: z.boolean(),
});
export type SiteBallot = z.infer<typeof siteBallot>;

/** The evening of a place, once it closed there. */
export const siteBallots = z.object({
  session: id,
  root,
  site: siteNumber,
  openedAt: moment,
  closedAt: moment,
  smellOnly: z.boolean(),
  stopped: z.boolean(),
  blinding,
  keyReaders,
  /** How its cups were served; null: nobody noted it. */
  conditions: servingConditions.nullable(),
  /** What went otherwise there, by the arm of the server that sealed. */
  deviations: z.array(
    z.object({ armId: id, on: day, note: text(500), sign: sign.nullable(), writtenAt: moment }),
  ),
  /** Seats that somebody took. */
  seats: z.array(
    z.object({
      seat: z.number().int(),
      takenAt: moment,
      cautionsConfirmedAt: moment.nullable(),
      onPaper: z.boolean(),
      holder: z.number().int().min(0),
      consent: consent.nullable(),
      consentAt: moment.nullable(),
      receiptHash: z.string().nullable(),
      slipHash: z.string().nullable(),
      /** Answers that were taken back: how many they were. */
      withdrawn: z.object({ at: moment, ballots: z.number().int() }).nullable(),
      ballots: z.array(siteBallot),
    }),
  ),
});
export type SiteBallots = z.infer<typeof siteBallots>;

/** The same as a file: nobody who carries it can read an answer, and one byte changed is noticed. */
export const siteBallotsFile = z.strictObject({
  format: z.literal('oddglass-site-ballots-1', 'This is no file of ballots of a place.'),
  session: id,
  root,
  site: siteNumber,
  sealed: bytes,
  /** HMAC-SHA-256 over the canonical JSON of all above, hex. */
  mac: root,
});
export type SiteBallotsFile = z.infer<typeof siteBallotsFile>;

/** What of a place is kept beside its ballots. */
export const siteFacts = siteBallots
  .pick({ openedAt: true, closedAt: true, smellOnly: true, stopped: true, blinding: true, keyReaders: true })
  .extend({ paperSeats: z.number().int() });
export type SiteFacts = z.infer<typeof siteFacts>;

/** A file that was made: how it is to be named, its text, and of a plan the code that opens it, shown once. */
export const siteFileMade = z.object({ name: z.string(), file: z.string(), code: z.string().optional() });
export type SiteFileMade = z.infer<typeof siteFileMade>;

/** Larger than the largest place: 200 people with all that can be asked. */
export const SITE_FILE_BYTES = 24 * 1024 * 1024;
const file = z.string().min(2, 'Choose a file.').max(SITE_FILE_BYTES, 'This file is too large.');

export const sitePlanInput = z.object({
  file,
  code: z.string().trim().min(1, 'Type the code of the file.').max(60),
});
export const siteBallotsInput = z.object({ file });
/** What came in; `already`: it had come in before, and nothing was changed. */
export const siteTaken = z.object({
  site: siteNumber,
  name: z.string(),
  people: z.number().int(),
  ballots: z.number().int(),
  already: z.boolean(),
});
export type SiteTaken = z.infer<typeof siteTaken>;
