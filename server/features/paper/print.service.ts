import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listEntriesOfSeat } from '@oddglass/db/queries/paper.ts';
import { freeSeat, listSeats, takeForPaper, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { PaperPrint, PaperQuery, SetAsideInput } from '@oddglass/shared/contracts/paper.ts';
import type { SessionAction } from '@oddglass/shared/contracts/session.ts';
import { isFlight } from '@oddglass/shared/contracts/part-fit.ts';
import { entryWanted } from '@oddglass/shared/paper/guarded.ts';
import { mayAct } from '@oddglass/shared/rules/session.ts';
import { isSpareSeat } from '@oddglass/shared/rules/sites.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import type { Actor } from '../../access/actor.ts';
import { sessionFor, type PanelInHand } from '../../access/panel-access.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { formOfBallot, printedBallotOf } from '../../session-data/paper-ballots.ts';
import { sessionAtSeat } from '../../session-data/seat-session.ts';
import { refuseAway } from '../../session-data/sites-away.ts';
import { pinOf, vocabularyOf } from '../../session-data/session-vocabulary.ts';

/** Refuses who may not do this now, as everywhere on the bench. */
export function refuseUnless(session: Session, panel: PanelInHand, action: SessionAction): void {
  if (mayAct(session, panel.role, action)) return;
  if (action === 'open-desk' && panel.role === 'host' && session.blinding === 'single') {
    throw problem('not-allowed', {
      detail:
        'In a single-blind tasting whoever hosts can read the key, and could enter ballots by it: no desk is opened. Let people answer on tablets.',
    });
  }
  const elsewhere = (['host', 'steward'] as const).some(
    (role) => role !== panel.role && mayAct(session, role, action),
  );
  throw problem(elsewhere ? 'not-allowed' : 'wrong-state');
}

/**
 * The ballots of these seats, to be printed: codes in each seat's order and the questions, as its tablet would show them.
 * Where a warm-up cup stands on trays its code would tell a host an arm, since the plan says which arm it is.
 */
export async function readPrint(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { from, to, words }: PaperQuery,
): Promise<PaperPrint> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  refuseUnless(session, panel, 'print-ballots');
  if (panel.role === 'host' && session.blinding === 'double' && poursWarmUps(session)) {
    throw problem('not-allowed', {
      detail:
        'A warm-up cup stands on these trays, and the plan says which arm it is: a ballot would tell you its code. Let the steward print.',
    });
  }
  const [seats, atSeat, vocabulary] = await Promise.all([
    listSeats(deps.db, sessionId),
    sessionAtSeat(deps.db, session),
    vocabularyOf(deps.db, session.panelId, pinOf(session)),
  ]);
  const printed = seats.filter((seat) => isWanted(seat, session, { from, to }) && !isOnTablet(seat));
  const ballots = [];
  for (const seat of printed) {
    const ballot = await printedBallotOf(deps.db, session, seat, vocabulary);
    // A list of hundreds of words with each of two hundred ballots would be megabytes that nobody prints.
    const listed = new Set(
      formOfBallot(session, ballot).questions.flatMap((question) => question.words.map(({ id }) => id)),
    );
    ballots.push({ ...ballot, words: ballot.words.filter(({ id }) => listed.has(id)) });
  }
  return {
    session: atSeat,
    entered: entryWanted(session.settings),
    ballots,
    onTablets: seats.filter(isOnTablet).map(({ number }) => number),
    onPaper: seats.filter(({ onPaper }) => onPaper).map(({ number }) => number),
    seats: seats.length,
    wordList: words ? wordsForSeat(vocabulary) : null,
  };
}

/** Seats from one number to another; of those not named the expected ones, at every place. */
function isWanted(
  seat: Seat,
  { settings }: Session,
  { from = 1, to }: Pick<PaperQuery, 'from' | 'to'>,
): boolean {
  const asked = to === undefined ? !isSpareSeat(settings, seat.number) : seat.number <= to;
  return seat.number >= from && asked && seat.withdrawnAt === null;
}

const isOnTablet = ({ takenAt, onPaper }: Seat): boolean => takenAt !== null && !onPaper;

const poursWarmUps = ({ settings }: Session): boolean =>
  settings.parts.some((part) => isFlight(part) && part.samples.some(({ role }) => role === 'warm-up'));

/** Seats get their ballots on paper, so that no tablet takes them; or are free again, while nothing of them was entered. */
export async function setAside(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { seats, paper }: SetAsideInput,
): Promise<void> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  await inSession(deps, sessionId, async (tx, session) => {
    refuseUnless(session, panel, 'set-aside');
    const now = deps.clock();
    const all = await listSeats(tx, sessionId);
    for (const number of [...new Set(seats)].sort((a, b) => a - b)) {
      const seat = all.find((one) => one.number === number);
      if (!seat) throw problem('not-found', { detail: `There is no seat ${number}.` });
      if (paper === seat.onPaper) continue;
      await refuseAway(tx, session, number);
      if (paper) {
        if (!(await takeForPaper(tx, sessionId, number, now))) throw onTablet(number);
        await appendEvent(tx, sessionId, { kind: 'seat-on-paper', seat: number }, now);
      } else {
        const entered = seat.withdrawnAt !== null || (await listEntriesOfSeat(tx, seat.id)).length > 0;
        if (entered) throw problem('seat-answered');
        await freeSeat(tx, seat.id);
        await appendEvent(tx, sessionId, { kind: 'seat-freed', seat: number }, now);
      }
    }
  });
}

export const onTablet = (seat: number) =>
  problem('seat-on-tablet', {
    detail: `Seat ${seat} answers on a tablet: nothing is entered for it from paper.`,
  });
