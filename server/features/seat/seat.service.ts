import { findStanding, insertBallot, listBallotsOfSeat } from '@oddglass/db/queries/ballot.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import {
  claimReceipt,
  confirmCautions as markConfirmed,
  findSeatByToken,
  findTray,
  listTraysOfSeat,
  setConsent,
  setProgress,
  type Seat,
} from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { BallotInput, BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { ReceiptIssued } from '@oddglass/shared/contracts/receipt.ts';
import type { Consent, Progress, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { seededRandom, shuffled } from '@oddglass/shared/design/random.ts';
import { answerTroubles, sameBallot } from '@oddglass/shared/rules/answers.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { movesOn, restLeft } from '@oddglass/shared/rules/tasting.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import { createHash } from 'node:crypto';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../problem.ts';
import { hashToken, receiptTokenOf } from '../../tokens.ts';
import { vocabularyOf } from '../../vocabulary.ts';
import { sessionAtSeat } from './seat-session.ts';

export async function readSeat(deps: Deps, seat: Seat): Promise<SeatView> {
  const session = await sessionOrProblem(deps.db, seat.sessionId);
  const { parts, restSeconds } = session.settings;
  const [trays, ballots, atSeat, vocabulary] = await Promise.all([
    listTraysOfSeat(deps.db, seat.id),
    listBallotsOfSeat(deps.db, seat.id),
    sessionAtSeat(deps.db, session),
    vocabularyOf(deps.db, session.panelId, session.vocabularyVersion),
  ]);
  const asked = trays.map((tray) => ({
    id: tray.id,
    trayNumber: tray.number,
    part: tray.part,
    servings: tray.servings.map(({ id, position, code, mark }) => ({ id, position, code, mark })),
    sheets: sheetsOfTray(parts, tray).map((sheet) => ({
      ...sheet,
      ballot: ballots.find((one) => one.trayId === tray.id && isOn(sheet, one)) ?? null,
    })),
  }));
  return {
    seat: seat.number,
    session: atSeat,
    cautionsConfirmedAt: seat.cautionsConfirmedAt?.toISOString() ?? null,
    consent: consentOf(seat),
    withdrawn: seat.withdrawnAt !== null,
    trays: asked,
    progress: seat.progress,
    restLeftMs: restLeft(restingSince(asked), restSeconds, deps.clock()),
    words: wordsFor(seat, vocabulary),
  };
}

const isOn = (sheet: { part: number; sheet: number }, ballot: { part: number; sheet: number }): boolean =>
  sheet.part === ballot.part && sheet.sheet === ballot.sheet;

/** When the last ballot of a finished tray came in, if the next tray is untouched: only then is there a rest to keep. */
function restingSince(trays: SeatView['trays']): Date | null {
  const next = trays.findIndex(({ sheets }) => sheets.some(({ ballot }) => ballot === null));
  if (next < 1 || trays[next]?.sheets.some(({ ballot }) => ballot !== null)) return null;
  const times = trays[next - 1]?.sheets.map(({ ballot }) => Date.parse(ballot?.receivedAt ?? '')) ?? [];
  return times.length === 0 ? null : new Date(Math.max(...times));
}

/** Words in an order of the seat's own: list order draws answers, and this spreads the pull. The same after a reload. */
function wordsFor(seat: Seat, vocabulary: Vocabulary): SeatView['words'] {
  const seed = new Uint8Array(createHash('sha256').update(`words ${seat.id}`).digest());
  return shuffled(seededRandom(seed), wordsForSeat(vocabulary));
}

function consentOf({ consentRows, consentSmallGroup, consentAt }: Seat): Consent | null {
  if (consentAt === null) return null;
  return { rows: consentRows ?? false, smallGroup: consentSmallGroup ?? false };
}

/** The session in hand is open and this device still holds the seat; both looked at under the lock. */
async function seatInHand(tx: Db, seat: Seat, state: string): Promise<Seat> {
  if (state !== 'open') {
    throw problem('wrong-state', { detail: 'The tasting is not open: nothing more can be taken in.' });
  }
  const current = seat.tokenHash ? await findSeatByToken(tx, seat.tokenHash) : undefined;
  if (!current) throw problem('seat-unknown');
  if (current.withdrawnAt !== null) throw problem('seat-withdrawn');
  return current;
}

export async function confirmCautions(deps: Deps, seat: Seat): Promise<SeatView> {
  await inSession(deps, seat.sessionId, async (tx, session) => {
    const current = await seatInHand(tx, seat, session.state);
    const now = deps.clock();
    if (await markConfirmed(tx, current.id, now)) {
      await appendEvent(tx, session.id, { kind: 'cautions-confirmed', seat: current.number }, now);
    }
  });
  return readSeat(deps, { ...seat, cautionsConfirmedAt: deps.clock() });
}

/** What the assessor agrees to; the last word before the session closes counts. Says nothing on the board. */
export async function giveConsent(deps: Deps, seat: Seat, consent: Consent): Promise<SeatView> {
  await inSession(deps, seat.sessionId, async (tx, session) => {
    const current = await seatInHand(tx, seat, session.state);
    await setConsent(tx, current.id, consent, deps.clock());
  });
  return readSeat(deps, await seatNow(deps.db, seat));
}

/**
 * The receipt of a seat. It is made from the seat's token, so that asking twice gets the same and a lost answer is no
 * loss. Once issued it stays with the tablet it was shown on: whoever is handed the seat later gets none.
 */
export async function issueReceipt(deps: Deps, seat: Seat, seatToken: string): Promise<ReceiptIssued> {
  const receiptToken = receiptTokenOf(seatToken);
  const issued = await claimReceipt(deps.db, seat.id, hashToken(receiptToken));
  if (!issued) throw problem('receipt-issued');
  return { receiptToken };
}

async function seatNow(db: Db, seat: Seat): Promise<Seat> {
  return (seat.tokenHash && (await findSeatByToken(db, seat.tokenHash))) || seat;
}

/** Moves the seat's mark on the board. A mark that leads back to an earlier tray is late news and changes nothing. */
export async function tellProgress(deps: Deps, seat: Seat, progress: Progress): Promise<void> {
  await inSession(deps, seat.sessionId, async (tx, session) => {
    const current = await seatInHand(tx, seat, session.state);
    if (!current.cautionsConfirmedAt) throw problem('cautions-open');
    const trays = await listTraysOfSeat(tx, current.id);
    const tray = trays.find(({ number }) => number === progress.trayNumber);
    if (!tray) throw fieldProblem('#/trayNumber', 'There is no such tray at this seat.');
    const sheet = sheetsOfTray(session.settings.parts, tray).find((one) => isOn(one, progress));
    if (!sheet) throw fieldProblem('#/sheet', 'There is no such sheet on this tray.');
    // Resting and finished follow from a ballot; only the ballot tells them.
    if (progress.step === 'resting' || progress.step === 'finished') return;
    if (!movesOn(current.progress, progress)) return;
    const { part, sheet: number } = progress;
    if (await findStanding(tx, { trayId: tray.id, part, sheet: number, id: tray.id })) return;
    await setProgress(tx, current.id, progress);
    const cup = progress.step === 'tasting' ? tray.servings[(progress.position ?? 1) - 1] : undefined;
    // A sheet about one cup tells which cup is in hand; a sheet about several does not.
    const inHand = cup?.code ?? (sheet.codes.length === 1 ? sheet.codes[0] : undefined);
    const { trayNumber, step } = progress;
    await appendEvent(
      tx,
      session.id,
      { kind: 'progress', seat: current.number, trayNumber, step, code: inHand ?? null },
      deps.clock(),
    );
  });
}

/**
 * Takes in a ballot. Sending the same again gets the first answer, also after closing, so that a lost
 * acknowledgement can be fetched; a different answer to the sheet is refused with what is stored.
 */
export async function submitBallot(deps: Deps, seat: Seat, input: BallotInput): Promise<BallotReceipt> {
  const tray = await findTray(deps.db, input.trayId);
  if (!tray || tray.seatId !== seat.id) {
    throw problem('not-found', {
      detail: 'This tray is not at your seat.',
      errors: [{ pointer: '#/trayId', detail: 'This tray is not at your seat.' }],
    });
  }
  const { settings, panelId, vocabularyVersion } = await sessionOrProblem(deps.db, seat.sessionId);
  await refuseWrongAnswer(deps, { settings, panelId, vocabularyVersion, tray, input });

  return inSession(deps, seat.sessionId, async (tx, session) => {
    const standing = await findStanding(tx, input);
    if (standing) return sameOrRefused(standing, seat, input);
    const current = await seatInHand(tx, seat, session.state);
    if (!current.cautionsConfirmedAt) throw problem('cautions-open');

    const now = deps.clock();
    const { id, part, sheet, answer, comment } = input;
    const row = { id, part, sheet, answer, comment, sessionId: session.id, trayId: tray.id, receivedAt: now };
    if (!(await insertBallot(tx, row))) {
      // Only an id used on a tray of another session gets here: this session's ballots wait for the lock.
      throw problem('ballot-differs', {
        detail: 'This ballot id is in use elsewhere. Send it with a new id.',
      });
    }
    const trayNumber = tray.number;
    await appendEvent(
      tx,
      session.id,
      { kind: 'ballot-received', seat: current.number, trayNumber, part, sheet },
      now,
    );
    await tellTrayDone(tx, session.settings, current, { trayNumber, part, sheet }, now);
    return { id, trayId: tray.id, trayNumber, part, sheet, answer, comment, receivedAt: now.toISOString() };
  });
}

/** Once every sheet of a tray is answered the seat rests, and after its last tray it is finished. */
async function tellTrayDone(
  tx: Db,
  settings: SessionSettings,
  seat: Seat,
  at: { trayNumber: number; part: number; sheet: number },
  now: Date,
): Promise<void> {
  const [trays, ballots] = await Promise.all([listTraysOfSeat(tx, seat.id), listBallotsOfSeat(tx, seat.id)]);
  const open = trays.filter((tray) =>
    sheetsOfTray(settings.parts, tray).some(
      (sheet) => !ballots.some((ballot) => ballot.trayId === tray.id && isOn(sheet, ballot)),
    ),
  );
  if (open.some(({ number }) => number === at.trayNumber)) return;
  const finished = open.length === 0;
  const step = finished ? ('finished' as const) : ('resting' as const);
  // A ballot that came late belongs to an earlier tray than the mark; whoever has finished stands at the end all the same.
  const mark = { ...(finished ? endOf(settings, trays, at) : at), step, position: null };
  if (!movesOn(seat.progress, mark)) return;
  await setProgress(tx, seat.id, mark);
  const { trayNumber } = mark;
  await appendEvent(
    tx,
    seat.sessionId,
    { kind: 'progress', seat: seat.number, trayNumber, step, code: null },
    now,
  );
}

/** The last sheet of the last tray. */
function endOf<At extends { trayNumber: number; part: number; sheet: number }>(
  { parts }: SessionSettings,
  trays: Awaited<ReturnType<typeof listTraysOfSeat>>,
  otherwise: At,
): Pick<At, 'trayNumber' | 'part' | 'sheet'> {
  const tray = trays.at(-1);
  const last = tray && sheetsOfTray(parts, tray).at(-1);
  return tray && last ? { trayNumber: tray.number, part: last.part, sheet: last.sheet } : otherwise;
}

async function refuseWrongAnswer(
  deps: Deps,
  {
    settings,
    panelId,
    vocabularyVersion,
    tray,
    input,
  }: Pick<Session, 'settings' | 'panelId' | 'vocabularyVersion'> & {
    tray: NonNullable<Awaited<ReturnType<typeof findTray>>>;
    input: BallotInput;
  },
): Promise<void> {
  const sheet = sheetsOfTray(settings.parts, tray).find((one) => isOn(one, input));
  const part = settings.parts[input.part - 1];
  if (!sheet || !part) throw fieldProblem('#/sheet', 'There is no such sheet on this tray.');
  const vocabulary = await vocabularyOf(deps.db, panelId, vocabularyVersion);
  const [trouble] = answerTroubles({
    part,
    sheet,
    answer: input.answer,
    // Only words as they are offered: one merged away would be counted apart from the word it went into.
    knowsWord: (id) => vocabulary.words.some((word) => word.id === id),
  });
  if (!trouble) return;
  const pointer = `#/answer${trouble.pointer}`;
  if (!trouble.strangeCup) throw fieldProblem(pointer, trouble.detail);
  throw problem('cup-not-on-tray', {
    detail: trouble.detail,
    errors: [{ pointer, detail: trouble.detail }],
  });
}

function sameOrRefused(
  { seatId, ...stored }: BallotReceipt & { seatId: string },
  seat: Seat,
  input: BallotInput,
): BallotReceipt {
  if (seatId !== seat.id) throw problem('ballot-differs', { detail: 'This ballot id is in use elsewhere.' });
  if (!sameBallot(stored, input)) throw problem('ballot-differs', { stored });
  return stored;
}
