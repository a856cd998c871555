import { z } from 'zod';
import { ballotReceipt } from './ballot.ts';

/**
 * Every way a request can fail: the stable name, its status, its title and what the caller can do.
 * The body follows RFC 9457 (problem details for HTTP APIs).
 */
export const PROBLEMS = {
  'invalid-input': {
    status: 400,
    title: 'Some fields need another look',
    advice: 'Correct the fields named in errors and send it again.',
  },
  'not-signed-in': { status: 401, title: 'Sign in first', advice: 'Sign in, then repeat the request.' },
  'wrong-credentials': {
    status: 401,
    title: 'Name or passphrase is wrong',
    advice: 'Check both and try again.',
  },
  'second-factor-refused': {
    status: 401,
    title: 'This does not open the account',
    advice:
      'It was not taken. Try again, with another passkey or with a recovery code that was not used yet.',
  },
  'second-factor-over': {
    status: 401,
    title: 'This sign-in has ended',
    advice: 'Begin again with name and passphrase; a passkey or recovery code is waited for five minutes.',
  },
  'passkey-refused': {
    status: 409,
    title: 'This passkey was not added',
    advice: 'Begin again on the page of your account, in the same browser, within five minutes.',
  },
  'passkeys-elsewhere': {
    status: 409,
    title: 'Passkeys do not work at this address',
    advice: 'Open the server by https under a name; until then a recovery code signs you in.',
  },
  'seat-unknown': {
    status: 401,
    title: 'This device has no seat',
    advice: 'Join the tasting again or ask the host for a new link to the seat.',
  },
  'receipt-unknown': {
    status: 401,
    title: 'This receipt is not known here',
    advice: 'Open the whole link of the receipt, on the server where you tasted.',
  },
  'rehearsal-plays': {
    status: 409,
    title: 'A rehearsal of this panel is being played',
    advice: 'Stop it, or wait until its people have finished: one at a time.',
  },
  'not-allowed': { status: 403, title: 'Your role does not allow this', advice: 'Ask a host of the panel.' },
  'key-closed': {
    status: 403,
    title: 'The key is closed to you',
    advice: 'Leave pouring to a steward, or take the key: the session is then single-blind.',
  },
  'knows-the-key': {
    status: 403,
    title: 'You know what is in the cups',
    advice:
      'Let somebody else take this seat. If somebody else holds this device now, sign out of the bench first.',
  },
  'desk-unknown': {
    status: 401,
    title: 'This device has no desk',
    advice: 'Ask the host for a new link to the desk for ballots on paper.',
  },
  'desk-refused': {
    status: 403,
    title: 'This link does not open the desk',
    advice: 'Ask the host for a new one: each works once, for ten minutes, while the tasting is open.',
  },
  'paper-receipt-refused': {
    status: 403,
    title: 'Number and digits do not belong together',
    advice: 'Read both off the slip once more. They are known once the ballot was entered.',
  },
  'foreign-origin': {
    status: 403,
    title: 'Request from another site',
    advice: 'Use the pages of this server.',
  },
  'join-refused': {
    status: 403,
    title: 'This code does not open a tasting',
    advice: 'Check the code on the board; codes work while the tasting is open.',
  },
  'move-refused': {
    status: 403,
    title: 'This link does not lead to a seat any more',
    advice: 'Ask for a new one: each works once, for ten minutes, while the tasting is open.',
  },
  'not-found': { status: 404, title: 'Nothing here', advice: 'Check the address.' },
  'wrong-state': {
    status: 409,
    title: 'The session is not at that step',
    advice: 'Reload the page: the session has moved on, or has not come this far.',
  },
  'not-revealed': { status: 409, title: 'Not revealed yet', advice: 'Close the tasting, then reveal it.' },
  'not-enough-liquid': {
    status: 409,
    title: 'The plan needs more than there is',
    advice: 'Pour less per cup, invite fewer, or correct the volume left.',
  },
  'unsafe-to-taste': {
    status: 409,
    title: 'Something on the table is not fit to taste',
    advice: 'Note what each arm is like today; what may be smelled only needs a tasting by smell.',
  },
  'title-tells': {
    status: 409,
    title: 'A text for assessors names an arm',
    advice: 'Choose words that tell assessors nothing about the arms.',
  },
  'vocabulary-moved': {
    status: 409,
    title: 'The vocabulary was changed meanwhile',
    advice: 'Look at it again, then repeat the change if it is still needed.',
  },
  'arm-sealed': {
    status: 409,
    title: 'This arm is part of a sealed session',
    advice: 'Its name and difference stay as sealed; add a dated deviation note instead.',
  },
  'arm-out-of-trial': {
    status: 409,
    title: 'This arm belongs to another trial',
    advice: 'Choose two arms of this trial.',
  },
  'dilution-unchecked': {
    status: 409,
    title: 'This dilution is not checked yet',
    advice: 'Note what was measured, then let a second person with the key confirm it.',
  },
  'second-person-needed': {
    status: 409,
    title: 'This takes another person',
    advice: 'Let another account with the key look at the measurement and confirm it.',
  },
  'id-taken': {
    status: 409,
    title: 'Something else was sent under this id',
    advice: 'What was sent first stands. Send it under an id of its own.',
  },
  'tray-answered': {
    status: 409,
    title: 'This tray is answered already',
    advice: 'The first answer stands. Reload the page: the series has moved on.',
  },
  'not-this-tray': {
    status: 409,
    title: 'The series is not at this tray',
    advice: 'Reload the page, then go on with the tray it shows.',
  },
  'answers-not-locked': {
    status: 409,
    title: 'Not every answer is locked yet',
    advice: 'Leave the cups as they stand: what stood where is taken once the answers are locked.',
  },
  'entry-moved': {
    status: 409,
    title: 'What stood on this tray was entered already',
    advice: 'Look at it, then send yours as its correction if it is still needed.',
  },
  'reading-moved': {
    status: 409,
    title: 'There is a newer reading of this arm at this pull',
    advice: 'Look at it, then send yours as its correction if it is still right.',
  },
  'pull-has-readings': {
    status: 409,
    title: 'This pull has readings',
    advice: 'It stays as it is; plan another pull.',
  },
  'pull-cancelled': {
    status: 409,
    title: 'This pull was cancelled',
    advice: 'Take the reading as a pull of its own.',
  },
  'too-many-pulls': {
    status: 409,
    title: 'A trial has at most 200 pulls',
    advice: 'Go on in a trial of its own.',
  },
  'too-many-photos': {
    status: 409,
    title: 'There is no room for another photo',
    advice: 'There are six at most of an arm at a pull, and 200 of a trial.',
  },
  'not-a-photo': {
    status: 422,
    title: 'This is no photo we can keep',
    advice: 'Send a JPEG of at most 400 kB and 1600 pixels a side; the page makes one of any photo.',
  },
  'already-set-up': {
    status: 409,
    title: 'The first host exists already',
    advice: 'Sign in, or ask a host for an invitation.',
  },
  'last-host': {
    status: 409,
    title: 'A panel needs a host',
    advice: 'Invite another host first; then this one can go.',
  },
  'already-member': {
    status: 409,
    title: 'You are of this panel already',
    advice: 'The link was not used up: whoever it was meant for can still open it.',
  },
  'name-taken': { status: 409, title: 'This name is taken', advice: 'Choose another name.' },
  'seat-taken': {
    status: 409,
    title: 'This seat is taken',
    advice: 'Choose a free seat, or ask the host to hand this one over.',
  },
  'wave-not-called': {
    status: 409,
    title: 'This seat is not called yet',
    advice: 'Take a free seat of a wave that is called, or wait: the host calls one wave after the other.',
  },
  'seats-held': {
    status: 409,
    title: 'This device holds two seats already',
    advice: 'Finish at one of them first, or join from another device.',
  },
  'cautions-open': {
    status: 409,
    title: 'The cautions are not confirmed',
    advice: 'Read and confirm the cautions first.',
  },
  'receipt-issued': {
    status: 409,
    title: 'The receipt of this seat is elsewhere',
    advice: 'Use the one that was shown on the tablet you began on; there is one for each seat.',
  },
  'seat-withdrawn': {
    status: 409,
    title: 'The answers of this seat were withdrawn',
    advice: 'Nothing more can be taken in from it.',
  },
  'seat-on-tablet': {
    status: 409,
    title: 'This seat answers on a tablet',
    advice: 'A seat answers on paper or on a tablet, not on both.',
  },
  'paper-moved-on': {
    status: 409,
    title: 'This ballot was entered elsewhere meanwhile',
    advice: 'Find it again: the desk shows what is due.',
  },
  'sheet-answered': {
    status: 409,
    title: 'This was answered on the tablet before',
    advice: 'The first answer stands; the seat was handed over since, so it is not shown here.',
  },
  'site-file-refused': {
    status: 422,
    title: 'This file is not taken in',
    advice: 'Bring the file as it was saved, for this tasting and its place; nothing was changed here.',
  },
  'site-ballots-in': {
    status: 409,
    title: 'The ballots of this place are in already',
    advice: 'Those that came first stand, each counted once.',
  },
  'site-elsewhere': {
    status: 409,
    title: 'This place answers on another server',
    advice: 'Sit down there; its ballots are brought here later.',
  },
  'seat-answered': {
    status: 409,
    title: 'This seat has answered',
    advice: 'Its answers stand. Hand it over to another tablet, or let the person take a free seat.',
  },
  'address-taken': {
    status: 409,
    title: 'This address is taken',
    advice: 'Choose another address; that of a withdrawn publication stays taken too.',
  },
  'not-publishable': {
    status: 409,
    title: 'This may not be published as it is',
    advice: 'See the listed fields: a person could be identified.',
  },
  'publication-moved': {
    status: 409,
    title: 'Something changed while it was put together',
    advice: 'Look at the preview again, then publish.',
  },
  'finding-changed': {
    status: 409,
    title: 'What this answers has changed',
    advice: 'Look at the fair-test check again: what it stands on was corrected meanwhile.',
  },
  'ballot-differs': {
    status: 409,
    title: 'This tray is answered already',
    advice: 'The first answer stands; it is in `stored`.',
  },
  'publication-withdrawn': {
    status: 410,
    title: 'This publication was withdrawn',
    advice: 'Only its address is left.',
  },
  'link-expired': { status: 410, title: 'This link is used or too old', advice: 'Ask for a new link.' },
  'wrong-host': {
    status: 421,
    title: 'This server is reached by another address',
    advice: 'Use the address of the invitation or of the QR; whoever runs the server sets it as PUBLIC_URL.',
  },
  'header-too-large': {
    status: 431,
    title: 'The headers of this request are too large',
    advice: 'Clear the cookies of this server, then try again.',
  },
  'too-slow': { status: 408, title: 'The request took too long', advice: 'Send it again.' },
  'too-large': { status: 413, title: 'Too much at once', advice: 'Shorten what you send.' },
  'wrong-media-type': { status: 415, title: 'JSON only', advice: 'Send application/json.' },
  'cup-not-on-tray': {
    status: 422,
    title: 'That cup is not on this tray',
    advice: 'Choose one of the three cups of the tray.',
  },
  'too-many-attempts': {
    status: 429,
    title: 'Too many wrong attempts',
    advice: 'Wait a minute and try again.',
  },
  'seats-too-fast': {
    status: 429,
    title: 'Many sat down from here just now',
    advice: 'Wait some seconds, then take the seat again: it is not lost by waiting.',
  },
  'too-many-sockets': {
    status: 429,
    title: 'Too many pages are open from here',
    advice: 'Close some pages of this server, then try again.',
  },
  internal: {
    status: 500,
    title: 'Something went wrong here',
    advice: 'Try again; the host finds the request id in the log.',
  },
  'database-away': {
    status: 503,
    title: 'The database is away',
    advice: 'Wait a few seconds, then see whether it went through, or send it again.',
  },
  busy: {
    status: 503,
    title: 'Too much is asked for at once',
    advice: 'Wait a few seconds, then ask again.',
  },
  closing: {
    status: 503,
    title: 'The server is being stopped',
    advice: 'Wait until it is back, then send it again.',
  },
  'no-result': {
    status: 503,
    title: 'The result could not be worked out',
    advice: 'Every answer is stored: try again later.',
  },
} as const;

export type ProblemName = keyof typeof PROBLEMS;

/** A field that needs another look: a JSON pointer into the body, and why. */
export const fieldError = z.object({ pointer: z.string(), detail: z.string() });
export type FieldError = z.infer<typeof fieldError>;

/** RFC 9457 problem document. Switch on `type`; `detail` is for people. */
export const problemDocument = z.object({
  type: z
    .string()
    .meta({ description: 'Path that names the kind of problem, for example /problems/seat-taken' }),
  title: z.string(),
  status: z.number().int(),
  detail: z.string(),
  instance: z.string(),
  errors: z.array(fieldError).optional(),
  stored: ballotReceipt.optional(),
});
export type ProblemDocument = z.infer<typeof problemDocument>;
