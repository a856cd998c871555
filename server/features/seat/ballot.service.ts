import {
  findStanding,
  insertBallot,
  listBallotsOfSeat,
  type HeldBallot,
} from '@oddglass/db/queries/ballot.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findTray, listTraysOfSeat, setProgress, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { BallotInput, BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { answerErrors, sameBallot } from '@oddglass/shared/rules/answers.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { isAhead } from '@oddglass/shared/rules/progress.ts';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { pinOf, vocabularyOf } from '../../session-data/session-vocabulary.ts';
import { isOn, seatInHand } from './seat-in-hand.ts';

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
  const session = await sessionOrProblem(deps.db, seat.sessionId);
  await refuseWrongAnswer(deps, { session, tray, input });

  return inSession(deps, seat.sessionId, async (tx, session) => {
    const standing = await findStanding(tx, input);
    if (standing) return sameOrRefused(standing, seat, input);
    const current = await seatInHand(tx, seat, session.state);
    const { holder } = current;
    if (!current.cautionsConfirmedAt) throw problem('cautions-open');

    const now = deps.clock();
    const { id, part, sheet, answer, comment, swallowing = null } = input;
    const said = { id, part, sheet, answer, comment };
    const row = { ...said, swallowing, sessionId: session.id, trayId: tray.id, receivedAt: now, holder };
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
    return { ...said, trayId: tray.id, trayNumber, receivedAt: now.toISOString() };
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
  if (!isAhead(seat.progress, mark)) return;
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
    session,
    tray,
    input,
  }: {
    session: Session;
    tray: NonNullable<Awaited<ReturnType<typeof findTray>>>;
    input: BallotInput;
  },
): Promise<void> {
  const { settings, panelId } = session;
  const sheet = sheetsOfTray(settings.parts, tray).find((one) => isOn(one, input));
  const part = settings.parts[input.part - 1];
  if (!sheet || !part) throw fieldProblem('#/sheet', 'There is no such sheet on this tray.');
  const vocabulary = await vocabularyOf(deps.db, panelId, pinOf(session));
  const [wrong] = answerErrors({
    part,
    sheet,
    answer: input.answer,
    // Only words as they are offered: one merged away would be counted apart from the word it went into.
    knowsWord: (id) => vocabulary.words.some((word) => word.id === id),
  });
  if (!wrong) return;
  const pointer = `#/answer${wrong.pointer}`;
  if (!wrong.strangeCup) throw fieldProblem(pointer, wrong.detail);
  throw problem('cup-not-on-tray', {
    detail: wrong.detail,
    errors: [{ pointer, detail: wrong.detail }],
  });
}

/**
 * Of an answer that was given before the seat was handed over nothing is told to whoever has it now, not even that theirs
 * would be the same. Under its own id it comes from the device that made it.
 */
function sameOrRefused(
  { seatId, holder, swallowing: _told, ...stored }: HeldBallot & { seatId: string },
  seat: Seat,
  input: BallotInput,
): BallotReceipt {
  if (seatId !== seat.id) throw problem('ballot-differs', { detail: 'This ballot id is in use elsewhere.' });
  if (holder < seat.holder && stored.id !== input.id) throw problem('sheet-answered');
  if (!sameBallot(stored, input)) throw problem('ballot-differs', { stored });
  return stored;
}
