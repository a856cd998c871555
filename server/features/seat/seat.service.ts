import { findStanding, listBallotsOfSeat, type HeldBallot } from '@oddglass/db/queries/ballot.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import {
  claimReceipt,
  confirmCautions as markConfirmed,
  findSeatByToken,
  listTraysOfSeat,
  setConsent,
  setProgress,
  type Seat,
} from '@oddglass/db/queries/seat.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { ReceiptMade } from '@oddglass/shared/contracts/receipt.ts';
import type { Consent, Progress, SeatView, SheetAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { isWarmUpCup, sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { isAhead } from '@oddglass/shared/rules/progress.ts';
import { restLeft } from '@oddglass/shared/rules/rest.ts';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { hashToken } from '../../access/tokens.ts';
import { wordsAtSeat } from '../../session-data/seat-words.ts';
import { pinOf, vocabularyOf } from '../../session-data/session-vocabulary.ts';
import { sessionAtSeat } from '../../session-data/seat-session.ts';
import { isOn, refuseWhenStopped, seatInHand } from './seat-in-hand.ts';

export async function readSeat(deps: Deps, seat: Seat): Promise<SeatView> {
  const session = await sessionOrProblem(deps.db, seat.sessionId);
  const { parts, restSeconds } = session.settings;
  const [trays, ballots, atSeat, vocabulary] = await Promise.all([
    listTraysOfSeat(deps.db, seat.id),
    listBallotsOfSeat(deps.db, seat.id),
    sessionAtSeat(deps.db, session),
    vocabularyOf(deps.db, session.panelId, pinOf(session)),
  ]);
  const asked = trays.map((tray) => ({
    id: tray.id,
    trayNumber: tray.number,
    part: tray.part,
    warmUp: tray.replicate === 0,
    servings: tray.servings.map(({ id, position, code, mark }) => ({ id, position, code, mark })),
    sheets: sheetsOfTray(parts, tray).map((sheet) => {
      const ballot = ballots.find((one) => one.trayId === tray.id && isOn(sheet, one));
      const answeredBefore = ballot !== undefined && ballot.holder < seat.holder;
      return { ...sheet, ballot: answeredBefore ? null : (ballot ?? null), answeredBefore };
    }),
  }));
  return {
    seat: seat.number,
    session: atSeat,
    cautionsConfirmedAt: seat.cautionsConfirmedAt?.toISOString() ?? null,
    consent: consentOf(seat),
    withdrawn: seat.withdrawnAt !== null,
    handedOver: seat.holder > 0,
    trays: asked,
    progress: seat.progress,
    restLeftMs: restLeft(restingSince(asked, ballots), restSeconds, deps.clock()),
    words: wordsAtSeat(seat, vocabulary),
  };
}

/** When the last ballot of a finished tray came in, if the next tray is untouched: only then is there a rest to keep. */
function restingSince(trays: SeatView['trays'], ballots: readonly HeldBallot[]): Date | null {
  const isOpen = ({ ballot, answeredBefore }: SheetAtSeat): boolean => ballot === null && !answeredBefore;
  const next = trays.findIndex(({ sheets }) => sheets.some(isOpen));
  if (next < 1 || !trays[next]?.sheets.every(isOpen)) return null;
  const times = ballots
    .filter(({ trayId }) => trayId === trays[next - 1]?.id)
    .map(({ receivedAt }) => Date.parse(receivedAt));
  return times.length === 0 ? null : new Date(Math.max(...times));
}

function consentOf({ consentRows, consentSmallGroup, consentAt }: Seat): Consent | null {
  if (consentAt === null) return null;
  return { rows: consentRows ?? false, smallGroup: consentSmallGroup ?? false };
}

export async function confirmCautions(deps: Deps, seat: Seat): Promise<SeatView> {
  await inSession(deps, seat.sessionId, async (tx, session) => {
    const current = await seatInHand(tx, seat, session.state);
    refuseWhenStopped(session);
    const now = deps.clock();
    if (await markConfirmed(tx, current.id, now)) {
      await appendEvent(tx, session.id, { kind: 'cautions-confirmed', seat: current.number }, now);
    }
  });
  return readSeat(deps, await seatNow(deps.db, seat));
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
 * Takes note of the receipt that a seat's device made. Telling the same again is no loss; another one is refused, and so
 * is one of a device that was handed the seat after answers were given, since those are not its own to read.
 */
export async function keepReceipt(deps: Deps, seat: Seat, { receiptToken }: ReceiptMade): Promise<void> {
  await inSession(deps, seat.sessionId, async (tx) => {
    const current = seat.tokenHash ? await findSeatByToken(tx, seat.tokenHash) : undefined;
    if (!current) throw problem('seat-unknown');
    const receiptHash = hashToken(receiptToken);
    const others = (await listBallotsOfSeat(tx, seat.id)).some(({ holder }) => holder < current.holder);
    if (others && current.receiptHash !== receiptHash) throw problem('receipt-issued');
    if (!(await claimReceipt(tx, seat.id, receiptHash))) throw problem('receipt-issued');
  });
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
    if (!isAhead(current.progress, progress)) return;
    const { part, sheet: number } = progress;
    if (await findStanding(tx, { trayId: tray.id, part, sheet: number, id: tray.id })) return;
    await setProgress(tx, current.id, progress);
    const cup = progress.step === 'tasting' ? tray.servings[(progress.position ?? 1) - 1] : undefined;
    // A sheet about one cup tells which cup is in hand; a sheet about several does not.
    const inHand = cup?.code ?? (sheet.codes.length === 1 ? sheet.codes[0] : undefined);
    // Hosts know which arm a warm-up is: of its code they hear nothing.
    const told = inHand !== undefined && !isWarmUpCup(session.settings.parts, tray, inHand) ? inHand : null;
    const { trayNumber, step } = progress;
    await appendEvent(
      tx,
      session.id,
      { kind: 'progress', seat: current.number, trayNumber, step, code: told },
      deps.clock(),
    );
  });
}
