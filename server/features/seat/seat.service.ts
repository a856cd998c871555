import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findStanding, insertBallot, listBallotsOfSeat } from '@oddglass/db/queries/ballot.ts';
import {
  confirmCautions as markConfirmed,
  findSeatByToken,
  findTray,
  listTraysOfSeat,
  setProgress,
  type Seat,
} from '@oddglass/db/queries/seat.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { BallotInput, BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { Progress, SeatView } from '@oddglass/shared/contracts/seat.ts';
import { seededRandom, shuffled } from '@oddglass/shared/design/random.ts';
import { movesOn, restLeft } from '@oddglass/shared/rules/tasting.ts';
import { DESCRIPTORS, descriptor } from '@oddglass/shared/vocabulary/descriptors.ts';
import { createHash } from 'node:crypto';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../problem.ts';
import { sessionAtSeat } from './seat-session.ts';

export async function readSeat(deps: Deps, seat: Seat): Promise<SeatView> {
  const session = await sessionOrProblem(deps.db, seat.sessionId);
  const [trays, ballots] = await Promise.all([
    listTraysOfSeat(deps.db, seat.id),
    listBallotsOfSeat(deps.db, seat.id),
  ]);
  const newest = ballots.map(({ receivedAt }) => Date.parse(receivedAt)).sort((a, b) => b - a)[0];
  const lastBallotAt = newest === undefined ? null : new Date(newest);
  const unanswered = ballots.length < trays.length;
  return {
    seat: seat.number,
    session: await sessionAtSeat(deps.db, session),
    cautionsConfirmedAt: seat.cautionsConfirmedAt?.toISOString() ?? null,
    trays: trays.map(({ id, replicate, servings }) => ({
      id,
      replicate,
      servings: servings.map(({ id: servingId, position, code }) => ({ id: servingId, position, code })),
      ballot: ballots.find(({ trayId }) => trayId === id) ?? null,
    })),
    progress: seat.progress,
    restLeftMs: unanswered ? restLeft(lastBallotAt, session.settings.restSeconds, deps.clock()) : 0,
    words: wordsFor(seat),
  };
}

/** Words in an order of the seat's own: list order draws answers, and this spreads the pull. The same after a reload. */
function wordsFor(seat: Seat): SeatView['words'] {
  const seed = new Uint8Array(createHash('sha256').update(`words ${seat.id}`).digest());
  return shuffled(seededRandom(seed), DESCRIPTORS);
}

/** The session in hand is open and this device still holds the seat; both looked at under the lock. */
async function seatInHand(tx: Db, seat: Seat, state: string): Promise<Seat> {
  if (state !== 'open') {
    throw problem('wrong-state', { detail: 'The tasting is not open: nothing more can be taken in.' });
  }
  const current = seat.tokenHash ? await findSeatByToken(tx, seat.tokenHash) : undefined;
  if (!current) throw problem('seat-unknown');
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

/** Moves the seat's mark on the board. A mark that leads back to an earlier tray is late news and changes nothing. */
export async function tellProgress(deps: Deps, seat: Seat, progress: Progress): Promise<void> {
  await inSession(deps, seat.sessionId, async (tx, session) => {
    const current = await seatInHand(tx, seat, session.state);
    if (!current.cautionsConfirmedAt) throw problem('cautions-open');
    if (progress.replicate > session.settings.replicates) {
      throw fieldProblem('#/replicate', 'There is no such tray at this seat.');
    }
    // Resting and finished follow from a ballot; only the ballot tells them.
    if (progress.step === 'resting' || progress.step === 'finished') return;
    const trays = await listTraysOfSeat(tx, current.id);
    const tray = trays.find(({ replicate }) => replicate === progress.replicate);
    if (!tray || !movesOn(current.progress, progress) || (await findStanding(tx, tray.id, tray.id))) return;
    await setProgress(tx, current.id, progress);
    const cup = progress.step === 'tasting' ? tray.servings[(progress.position ?? 1) - 1] : undefined;
    await appendEvent(
      tx,
      session.id,
      {
        kind: 'progress',
        seat: current.number,
        replicate: progress.replicate,
        step: progress.step,
        code: cup?.code ?? null,
      },
      deps.clock(),
    );
  });
}

/**
 * Takes in a ballot. Sending the same again gets the first answer, also after closing, so that a lost
 * acknowledgement can be fetched; a different answer for the tray is refused with what is stored.
 */
export async function submitBallot(deps: Deps, seat: Seat, input: BallotInput): Promise<BallotReceipt> {
  const tray = await findTray(deps.db, input.trayId);
  if (!tray || tray.seatId !== seat.id) {
    throw problem('not-found', {
      detail: 'This tray is not at your seat.',
      errors: [{ pointer: '#/trayId', detail: 'This tray is not at your seat.' }],
    });
  }
  const odd = tray.servings.find(({ code }) => code === input.odd);
  if (!odd) {
    const detail = `There is no cup ${input.odd} on this tray.`;
    throw problem('cup-not-on-tray', { detail, errors: [{ pointer: '#/odd', detail }] });
  }
  input.descriptors.forEach((word, index) => {
    if (!descriptor(word))
      throw fieldProblem(`#/descriptors/${index}`, `The vocabulary has no word '${word}'.`);
  });

  return inSession(deps, seat.sessionId, async (tx, session) => {
    const standing = await findStanding(tx, tray.id, input.id);
    if (standing) return sameOrRefused(standing, seat, input);
    const current = await seatInHand(tx, seat, session.state);
    if (!current.cautionsConfirmedAt) throw problem('cautions-open');

    const now = deps.clock();
    const { id, confidence, descriptors, comment } = input;
    const row = {
      id,
      confidence,
      descriptors,
      comment,
      sessionId: session.id,
      trayId: tray.id,
      receivedAt: now,
    };
    if (!(await insertBallot(tx, { ...row, oddServingId: odd.id }))) {
      // Only an id used on a tray of another session gets here: this session's ballots wait for the lock.
      throw problem('ballot-differs', {
        detail: 'This ballot id is in use elsewhere. Send it with a new id.',
      });
    }
    const { replicate } = tray;
    await appendEvent(tx, session.id, { kind: 'ballot-received', seat: current.number, replicate }, now);
    const step = replicate === session.settings.replicates ? ('finished' as const) : ('resting' as const);
    if (movesOn(current.progress, { replicate, step, position: null })) {
      await setProgress(tx, current.id, { replicate, step, position: null });
      await appendEvent(
        tx,
        session.id,
        { kind: 'progress', seat: current.number, replicate, step, code: null },
        now,
      );
    }
    return {
      id,
      trayId: tray.id,
      replicate,
      odd: odd.code,
      confidence,
      descriptors,
      comment,
      receivedAt: now.toISOString(),
    };
  });
}

function sameOrRefused(
  { seatId, ...stored }: BallotReceipt & { seatId: string },
  seat: Seat,
  input: BallotInput,
): BallotReceipt {
  if (seatId !== seat.id) throw problem('ballot-differs', { detail: 'This ballot id is in use elsewhere.' });
  const same =
    stored.trayId === input.trayId &&
    stored.odd === input.odd &&
    stored.confidence === input.confidence &&
    stored.comment === input.comment &&
    [...stored.descriptors].sort().join() === [...input.descriptors].sort().join();
  if (!same) throw problem('ballot-differs', { stored });
  return stored;
}
