import { setTimeout as wait } from 'node:timers/promises';
import { findSession, type Session } from '@oddglass/db/queries/session.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { Simulation } from '@oddglass/shared/contracts/rehearsal.ts';
import {
  joinOffer,
  seatTaken,
  seatView,
  type Progress,
  type SeatView,
  type SheetAtSeat,
  type TrayAtSeat,
} from '@oddglass/shared/contracts/seat.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { cupsIndex } from '@oddglass/shared/rules/parts.ts';
import { seatsOfWave, wavesOf } from '@oddglass/shared/rules/waves.ts';
import { answerSheet, type SimulatedCup } from '@oddglass/shared/simulation/answer.ts';
import { assessorAt, drawsAt } from '@oddglass/shared/simulation/assessor.ts';
import type { Deps } from '../../deps.ts';
import { truthOf } from './rehearsal-truth.ts';

export interface Sent {
  method: 'GET' | 'POST';
  path: string;
  /** Of the seat. */
  token?: string;
  body?: unknown;
}
export type Send = (sent: Sent) => Promise<{ status: number; body: unknown }>;

// Some at a time, so that people who really taste in this server do not wait for those who do not.
const AT_A_TIME = 4;
const TRIES = 5;
const RETRY_MS = 1_000;
const LONGEST_PAUSE_MS = 10_000;
const MINUTE_MS = 60_000;
const LOOK_MS = 500;

/** Somebody was turned away: by a host who closed, stopped or deleted, or by a person who sat there first. */
class TurnedAway extends Error {}

interface Evening {
  deps: Deps;
  send: Send;
  note: (reason: unknown) => void;
  signal: AbortSignal;
  session: Session;
  simulation: Simulation;
  truth: ReadonlyMap<string, SimulatedCup[]>;
}

/**
 * Lets the simulated people of a rehearsal sit down on its free seats and answer, at the pace that was set; true when all of
 * them came to their end, false when they were stopped, or the tasting went on without them. Nothing of their pace depends on
 * what is in a cup.
 */
export async function playEvening(
  deps: Deps,
  { send, note }: { send: Send; note: (reason: unknown) => void },
  session: Session,
  stopped: AbortSignal,
): Promise<boolean> {
  if (!session.rehearsal) throw new Error('only a rehearsal is played');
  const { simulation } = session.rehearsal;
  const leaving = new AbortController();
  const signal = AbortSignal.any([stopped, leaving.signal]);
  const evening = { deps, send, note, signal, session, simulation, truth: await truthOf(deps.db, session) };
  const watching = leaveWhenOver(evening, leaving);
  try {
    return await playAll(evening);
  } finally {
    leaving.abort();
    await watching;
  }
}

/** Everybody leaves once the tasting is closed or deleted, in whatever process that was done. */
async function leaveWhenOver(evening: Evening, leaving: AbortController): Promise<void> {
  while (await pause(evening.signal, LOOK_MS)) {
    // While the database is away nobody knows; those who play wait as well.
    const open = await isOpen(evening).catch(() => true);
    if (!open) leaving.abort();
  }
}

async function playAll(evening: Evening): Promise<boolean> {
  for (;;) {
    const called = await calledWave(evening);
    const done = await playFree(evening);
    if (done && (await comesAnotherWave(evening, called))) continue;
    return done && !evening.signal.aborted && (await isOpen(evening));
  }
}

/** Everybody of the waves called so far. */
async function playFree(evening: Evening): Promise<boolean> {
  const { simulation, signal } = evening;
  const seats = await freeSeats(evening);
  const turns = turnsOf(simulation.pace === null ? AT_A_TIME : seats.length);
  const ends = await Promise.all(
    seats.map((seat, at) =>
      turns(async () => {
        if (!(await pause(signal, simulation.pace === null ? 0 : (at * MINUTE_MS) / simulation.pace)))
          return false;
        return playSeat(evening, seat);
      }),
    ),
  );
  return ends.every(Boolean);
}

async function calledWave({ deps, session }: Evening): Promise<number | null> {
  return (await findSession(deps.db, session.id))?.wave ?? null;
}

/** Waits until the host calls the next wave; false where there is none for these people, or they were stopped. */
async function comesAnotherWave(evening: Evening, called: number | null): Promise<boolean> {
  const { settings } = evening.session;
  const waves = wavesOf(settings, called);
  if (!waves || seatsOfWave(waves, waves.called).to >= evening.simulation.people) return false;
  while (await pause(evening.signal, LOOK_MS)) {
    const now = await calledWave(evening).catch(() => called);
    if (now !== called) return true;
  }
  return false;
}

const isOpen = async ({ deps, session }: Evening): Promise<boolean> =>
  (await findSession(deps.db, session.id))?.state === 'open';

/** Runs so many at a time, in order. */
function turnsOf(most: number): <T>(work: () => Promise<T>) => Promise<T> {
  let running = 0;
  const waiting: (() => void)[] = [];
  return async (work) => {
    if (running >= most) await new Promise<void>((go) => waiting.push(go));
    running += 1;
    try {
      return await work();
    } finally {
      running -= 1;
      waiting.shift()?.();
    }
  };
}

/** False when it was stopped meanwhile. */
async function pause(signal: AbortSignal, ms: number): Promise<boolean> {
  if (signal.aborted) return false;
  if (ms <= 0) return true;
  return wait(ms, true, { signal }).catch(() => false);
}

async function ask(evening: Evening, sent: Sent): Promise<unknown> {
  for (let left = TRIES; ; left--) {
    if (evening.signal.aborted) throw new TurnedAway();
    const { status, body } = await evening.send(sent);
    if (status === 200) return body;
    // The database is away, or too much is asked for: as a tablet does, send the same again.
    if (status !== 503 || left === 1) throw new TurnedAway(`${sent.path}: ${status}`);
    await pause(evening.signal, RETRY_MS);
  }
}

/** Seats for the simulated people that nobody has taken yet, in order. */
async function freeSeats(evening: Evening): Promise<number[]> {
  const body = { token: evening.session.joinToken };
  const offer = joinOffer.parse(await ask(evening, { method: 'POST', path: '/api/join', body }));
  return offer.seats
    .filter(({ number, free }) => free && number <= evening.simulation.people)
    .map(({ number }) => number)
    .sort((a, b) => a - b);
}

/** One person's evening; false when they were turned away in the middle of it. */
async function playSeat(evening: Evening, seat: number): Promise<boolean> {
  try {
    // A host may have renewed the way in since.
    const token = (await findSession(evening.deps.db, evening.session.id))?.joinToken;
    if (!token) return false;
    const body = { token, seat };
    const taken = await ask(evening, { method: 'POST', path: '/api/join/seat', body });
    const { seatToken } = seatTaken.parse(taken);
    await ask(evening, { method: 'POST', path: '/api/seat/cautions', token: seatToken, body: {} });
    const view = seatView.parse(await ask(evening, { method: 'GET', path: '/api/seat', token: seatToken }));
    await answerAll(evening, view, seatToken);
    return true;
  } catch (reason) {
    if (!(reason instanceof TurnedAway)) throw reason;
    if (evening.signal.aborted || !(await isOpen(evening))) return false;
    // Somebody else sat down there first, or the host freed the seat: that is no end of the evening.
    evening.note(reason);
    return true;
  }
}

async function answerAll(evening: Evening, view: SeatView, token: string): Promise<void> {
  const sheets = view.trays.flatMap((tray) => tray.sheets.map((sheet) => ({ tray, sheet })));
  const person = assessorAt(evening.simulation, view.seat, sheets.length);
  const stays = person.leavesAfter ?? sheets.length;
  const vocabulary = view.words.map(({ id }) => id);
  for (const { tray, sheet } of sheets.slice(0, stays)) {
    await tasteTowards(evening, tray, sheet, token);
    const { parts } = evening.session.settings;
    const index = sheet.part - 1;
    const draws = drawsAt(evening.simulation.seed, view.seat, tray.trayNumber, sheet.part, sheet.sheet);
    const answer = answerSheet(
      {
        part: parts[index] as Part,
        poured: parts[cupsIndex(parts, index)] as Part,
        sheet: { codes: sheet.codes, attributeIds: sheet.attributeIds, ...(sheet.late && { late: true }) },
        tray: evening.truth.get(tray.id) ?? [],
        vocabulary,
      },
      evening.simulation,
      person,
      draws,
    );
    const ballot = {
      id: randomUuid(evening.deps.random),
      trayId: tray.id,
      part: sheet.part,
      sheet: sheet.sheet,
      answer,
      comment: '',
    };
    await ask(evening, { method: 'POST', path: '/api/seat/ballots', token, body: ballot });
  }
}

/** Cup after cup, then the question, as a tablet tells it; all in one go where everybody comes at once. */
async function tasteTowards(
  evening: Evening,
  tray: TrayAtSeat,
  { part, sheet }: SheetAtSeat,
  token: string,
): Promise<void> {
  const { pace } = evening.simulation;
  const at = { trayNumber: tray.trayNumber, part, sheet };
  const kind = kindOf(evening.session.settings.parts[part - 1] as Part);
  const firstOfTray = tray.sheets[0]?.part === part && tray.sheets[0].sheet === sheet;
  const tasted = kind.tastedFirst === 'all' && firstOfTray && pace !== null ? tray.servings : [];
  const steps: Progress[] = [
    ...tasted.map(({ position }) => ({ ...at, step: 'tasting' as const, position })),
    { ...at, step: STEPS[kind.answer], position: null },
  ];
  const each = pace === null ? 0 : Math.min(LONGEST_PAUSE_MS, (2 * MINUTE_MS) / pace) / steps.length;
  for (const body of steps) {
    await ask(evening, { method: 'POST', path: '/api/seat/progress', token, body });
    if (!(await pause(evening.signal, each))) throw new TurnedAway();
  }
}

const STEPS = {
  choice: 'choosing',
  ranking: 'answering',
  rating: 'answering',
  control: 'answering',
  liking: 'answering',
  description: 'describing',
  late: 'describing',
} as const;
