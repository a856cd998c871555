import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { SessionEventBody } from '@oddglass/shared/contracts/live.ts';
import type { RehearsalRecord } from '@oddglass/shared/contracts/rehearsal.ts';
import type { RevealRecord } from '@oddglass/shared/contracts/reveal-record.ts';
import type { GuestOf } from '@oddglass/shared/contracts/site-file.ts';
import type { Progress } from '@oddglass/shared/contracts/seat.ts';
import {
  boolean,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  timestamp,
  unique,
  uuid,
} from 'drizzle-orm/pg-core';
import { panel } from './panel.ts';
import { trial } from './trial.ts';

/** One tasting. What is here may be shown to a host at any time; the key has tables of its own (`key.ts`). */
export const session = pgTable(
  'session',
  {
    id: uuid('id').primaryKey(),
    panelId: uuid('panel_id')
      .notNull()
      .references(() => panel.id, { onDelete: 'cascade' }),
    trialId: uuid('trial_id')
      .notNull()
      .references(() => trial.id, { onDelete: 'cascade' }),
    state: text('state', { enum: ['draft', 'sealed', 'open', 'closed', 'revealed'] }).notNull(),
    blinding: text('blinding', { enum: ['double', 'single'] }).notNull(),
    settings: jsonb('settings').$type<SessionSettings>().notNull(),
    root: text('root'),
    /** Root over all answers, made by closing; null before, and in sessions closed before there was one. */
    answersRoot: text('answers_root'),
    /** What the trial was about when it was sealed; null: sealed before that was kept, and told as the trial has it now. */
    trialWords: jsonb('trial_words').$type<{ title: string; question: string; factor: string }>(),
    /** What each part said at the reveal: written once, never changed by what is withdrawn later. */
    revealRecord: jsonb('reveal_record').$type<RevealRecord>(),
    /** Version of the panel's vocabulary it is asked with, fixed by sealing: how many changes beyond the built-in one. */
    vocabularyVersion: integer('vocabulary_version'),
    /** Edition of the built-in words below those changes, fixed by sealing; null counts as the first. */
    vocabularyEdition: integer('vocabulary_edition'),
    createdAt: timestamp('created_at', { withTimezone: true }).notNull(),
    sealedAt: timestamp('sealed_at', { withTimezone: true }),
    openedAt: timestamp('opened_at', { withTimezone: true }),
    closedAt: timestamp('closed_at', { withTimezone: true }),
    revealedAt: timestamp('revealed_at', { withTimezone: true }),
    /** Fixed by opening: the cups are smelled and not tasted. */
    smellOnly: boolean('smell_only').notNull().default(false),
    /** Something was seen of an arm that ends tasting; null while nothing is. */
    stoppedAt: timestamp('stopped_at', { withTimezone: true }),
    /** Who opens the key is written down; false for sessions sealed before that was done. */
    keyWatched: boolean('key_watched').notNull().default(false),
    /** It is a rehearsal: nothing in it is tasted, and these are the people who play. Null for a tasting. */
    rehearsal: jsonb('rehearsal').$type<RehearsalRecord>(),
    /** The wave of seats called last, from 1; null: not open yet, or everybody sits down at once. */
    wave: integer('wave'),
    /** Way in while the session is open; emptied when it closes. */
    joinCode: text('join_code').unique(),
    joinToken: text('join_token').unique(),
    /** Sealed on another server: this one pours for one place of it. Null: its own. */
    guest: jsonb('guest').$type<GuestOf>(),
    /** Sequence number of the newest event. */
    lastSeq: integer('last_seq').notNull().default(0),
  },
  (table) => [index('session_panel').on(table.panelId), index('session_trial').on(table.trialId)],
);

/** The ordered log of a session: written in the same transaction as the fact it tells. */
export const sessionEvent = pgTable(
  'session_event',
  {
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    seq: integer('seq').notNull(),
    at: timestamp('at', { withTimezone: true }).notNull(),
    event: jsonb('event').$type<SessionEventBody>().notNull(),
  },
  (table) => [primaryKey({ columns: [table.sessionId, table.seq] })],
);

export const seat = pgTable(
  'seat',
  {
    id: uuid('id').primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    number: integer('number').notNull(),
    spare: boolean('spare').notNull(),
    tokenHash: text('token_hash').unique(),
    /** Its ballot is on paper: no tablet has it. */
    onPaper: boolean('on_paper').notNull().default(false),
    /** Hash of the digits on the slip of a ballot on paper, which lead to a receipt. */
    slipHash: text('slip_hash'),
    /** How often the host handed it over: a ballot of an earlier holder is not told to the present one. */
    holder: integer('holder').notNull().default(0),
    /** Way to the seat for one other device, once: only its hash, until when, and who asked for it. */
    moveHash: text('move_hash').unique(),
    moveUntil: timestamp('move_until', { withTimezone: true }),
    moveBy: text('move_by', { enum: ['host', 'seat'] }),
    takenAt: timestamp('taken_at', { withTimezone: true }),
    cautionsConfirmedAt: timestamp('cautions_confirmed_at', { withTimezone: true }),
    progress: jsonb('progress').$type<Progress>(),
    /** What the assessor agreed to, and when they last said so; null is no. */
    consentRows: boolean('consent_rows'),
    consentSmallGroup: boolean('consent_small_group'),
    consentAt: timestamp('consent_at', { withTimezone: true }),
    /** Way back to one's own answers without the tablet; only the hash of the receipt is stored. */
    receiptHash: text('receipt_hash').unique(),
    /** Hash of the random id of the browser that took it, so that one browser does not take the whole table. */
    deviceHash: text('device_hash'),
    /** From here on nothing of this seat counts: its ballots are gone. */
    withdrawnAt: timestamp('withdrawn_at', { withTimezone: true }),
    /** How many they were: a seat that never answered changes no number by leaving. */
    withdrawnBallots: integer('withdrawn_ballots'),
  },
  (table) => [unique('seat_number').on(table.sessionId, table.number)],
);

/** What one assessor gets in one flight. */
export const tray = pgTable(
  'tray',
  {
    id: uuid('id').primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    seatId: uuid('seat_id')
      .notNull()
      .references(() => seat.id, { onDelete: 'cascade' }),
    /** Running number at the seat, from 1. */
    number: integer('number').notNull(),
    /** The part it is poured for, from 1, and how often the seat has had such a tray. */
    part: integer('part').notNull(),
    replicate: integer('replicate').notNull(),
  },
  (table) => [
    unique('tray_number').on(table.seatId, table.number),
    unique('tray_replicate').on(table.seatId, table.part, table.replicate),
  ],
);

/** One cup before one assessor, known by its code. Which sample it holds is in the key. */
export const serving = pgTable(
  'serving',
  {
    id: uuid('id').primaryKey(),
    sessionId: uuid('session_id')
      .notNull()
      .references(() => session.id, { onDelete: 'cascade' }),
    trayId: uuid('tray_id')
      .notNull()
      .references(() => tray.id, { onDelete: 'cascade' }),
    position: integer('position').notNull(),
    code: text('code').notNull(),
    /** What everybody may know of the cup: that it is the reference, or the marked control. */
    mark: text('mark', { enum: ['reference', 'control'] }),
  },
  (table) => [
    unique('serving_position').on(table.trayId, table.position),
    unique('serving_code').on(table.trayId, table.code),
    index('serving_session').on(table.sessionId),
  ],
);
