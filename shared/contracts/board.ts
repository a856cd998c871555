import { z } from 'zod';
import { code, moment } from './common.ts';
import { sessionState } from './session.ts';
import { waves } from './waves.ts';
import { siteRun, siteStanding } from './site.ts';

export const seat = z.number().int();

export const boardSeat = z.object({
  number: seat,
  spare: z.boolean(),
  status: z.enum([
    'free',
    /** Set aside for paper: nothing entered, entered once of two times, two entries that differ, or entered for good. */
    'paper',
    'paper-once',
    'paper-differs',
    'paper-entered',
    'cautions',
    'tasting',
    'choosing',
    'answering',
    'describing',
    'reviewing',
    'resting',
    'finished',
    'withdrawn',
    /** Of a place that answers on another server: its ballots are not in yet, or were brought. */
    'elsewhere',
    'joined',
  ]),
  online: z.boolean(),
  trayNumber: z.number().int(),
  /** The cup in hand while tasting. */
  code: code.nullable(),
  /** Sheets answered. */
  answered: z.number().int(),
});
export type BoardSeat = z.infer<typeof boardSeat>;

/** The live board: who is where, and nothing of the answers. A fold of the session's events (`rules/board.ts`). */
export const board = z.object({
  seq: z.number().int(),
  state: sessionState,
  openedAt: moment.nullable(),
  /** Trays and sheets of each seat. */
  trays: z.number().int(),
  sheets: z.number().int(),
  seats: z.array(boardSeat),
  /** How seats are called; left out: all at once. */
  waves: waves.optional(),
  /** Cups of finished trays as last told, and cups to pour for the expected and the taken seats. */
  poured: z.number().int(),
  cupsPerSeat: z.number().int(),
  /** Accounts that opened the key before the reveal, and when for the first time. */
  keyOpenings: z.array(z.object({ name: z.string(), at: moment })),
  /** Several places with their seats, in order; left out at one place. */
  sites: z.array(siteRun.extend({ standing: siteStanding })).optional(),
});
export type Board = z.infer<typeof board>;
