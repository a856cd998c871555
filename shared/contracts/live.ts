import { z } from 'zod';
import { code, moment } from './common.ts';
import { paperState } from './paper.ts';
import { step, sessionAtSeat } from './seat.ts';
import { seat, board } from './board.ts';

/** A bench socket closes with this when the sign-in it was opened with has ended, or its place in the panel. */
export const SIGN_IN_ENDED = 4401;

/**
 * One row of the session's ordered log. Nothing in an event ties a code, tray or seat to an arm:
 * pouring is told as a total only, and not while any tray is half poured, since a steward pours bottle by bottle.
 */
export const sessionEvent = z.object({
  seq: z.number().int().min(1),
  at: moment,
  event: z.discriminatedUnion('kind', [
    z.object({ kind: z.literal('sealed') }),
    z.object({ kind: z.literal('opened') }),
    z.object({ kind: z.literal('closed') }),
    z.object({ kind: z.literal('revealed') }),
    /** Something was seen of an arm that ends tasting, or it was looked at again. Which arm is not told here. */
    z.object({ kind: z.literal('tasting-stopped') }),
    z.object({ kind: z.literal('tasting-resumed') }),
    z.object({ kind: z.literal('key-taken') }),
    /** An account read the key before the reveal, for the first time. */
    z.object({ kind: z.literal('key-opened'), name: z.string() }),
    z.object({ kind: z.literal('join-code-changed') }),
    /** Seats of this wave may be taken from now on. */
    z.object({ kind: z.literal('wave-called'), wave: z.number().int().min(2) }),
    /** Somebody outside of the panel keeps a desk at which ballots on paper are entered. */
    z.object({ kind: z.literal('desk-opened'), keeper: z.string() }),
    z.object({ kind: z.literal('seat-taken'), seat }),
    /** Another device has the seat: by the host's leave, or on from tablet to tablet by the person at it. */
    z.object({ kind: z.literal('seat-handed-over'), seat }),
    z.object({ kind: z.literal('seat-moved'), seat }),
    z.object({ kind: z.literal('seat-freed'), seat }),
    /** Whoever has finished there gave the tablet to the next person: it does not know the seat any more. */
    z.object({ kind: z.literal('tablet-passed-on'), seat }),
    /** Somebody sits there with a ballot on paper. */
    z.object({ kind: z.literal('seat-on-paper'), seat }),
    /** How its ballot stands after an entry, and how many sheets it answers once it counts. */
    z.object({ kind: z.literal('paper-entered'), seat, standing: paperState, answered: z.number().int() }),
    z.object({ kind: z.literal('seat-online'), seat }),
    z.object({ kind: z.literal('seat-offline'), seat }),
    z.object({ kind: z.literal('cautions-confirmed'), seat }),
    z.object({
      kind: z.literal('progress'),
      seat,
      trayNumber: z.number().int(),
      step,
      code: code.nullable(),
    }),
    z.object({
      kind: z.literal('ballot-received'),
      seat,
      trayNumber: z.number().int(),
      part: z.number().int(),
      sheet: z.number().int(),
    }),
    /** An assessor took their answers back. Past the reveal no seat is named: results before and after would tell what it said. */
    z.object({ kind: z.literal('seat-withdrawn'), seat: seat.nullable() }),
    /** A place answers on another server from here on; later its ballots were brought: how many sheets each taken seat answered. */
    z.object({ kind: z.literal('site-away'), site: z.number().int() }),
    z.object({
      kind: z.literal('site-joined'),
      site: z.number().int(),
      seats: z.array(z.object({ seat, answered: z.number().int() })),
    }),
    /** Cups of finished trays, told while no tray stands half poured. */
    z.object({ kind: z.literal('poured'), cups: z.number().int() }),
  ]),
});
export type SessionEvent = z.infer<typeof sessionEvent>;
export type SessionEventBody = SessionEvent['event'];

/** Server to bench. After a break the client asks with its last seq and gets what it missed, or a snapshot. */
export const benchMessage = z.discriminatedUnion('type', [
  z.object({ type: z.literal('snapshot'), board }),
  z.object({ type: z.literal('event'), event: sessionEvent }),
  /** Only to whoever may pour: cups were ticked elsewhere. The log, which hosts read, tells of finished trays alone. */
  z.object({ type: z.literal('pour-list') }),
]);
export type BenchMessage = z.infer<typeof benchMessage>;

/** Server to seat: only how the session stands, and whether this device still holds the seat. */
export const seatMessage = z.discriminatedUnion('type', [
  z.object({ type: z.literal('session'), session: sessionAtSeat }),
  z.object({ type: z.literal('seat-lost') }),
]);
export type SeatMessage = z.infer<typeof seatMessage>;

/** Sent on every channel while nothing else is told: silence beyond PULSE_SILENCE_MS means that the way is broken. */
export const pulse = z.object({ type: z.literal('pulse') });
export const PULSE_EVERY_MS = 10_000;
export const PULSE_SILENCE_MS = 30_000;
