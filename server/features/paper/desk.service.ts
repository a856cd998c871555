import { appendEvent } from '@oddglass/db/queries/event.ts';
import { hasOpenedKey } from '@oddglass/db/queries/key-opening.ts';
import {
  findDeskByLink,
  insertDesk,
  listEntriesBySeat,
  openDesk as takeDesk,
  type PaperDesk,
} from '@oddglass/db/queries/paper.ts';
import { findPanel, findPanelFor } from '@oddglass/db/queries/panel.ts';
import { listSeats, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { DeskOffer, DeskOpened, DeskView, OpenDeskInput } from '@oddglass/shared/contracts/paper.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { ballotNumber } from '@oddglass/shared/paper/ballot-number.ts';
import { entryWanted } from '@oddglass/shared/paper/guarded.ts';
import type { Actor } from '../../access/actor.ts';
import { sessionFor } from '../../access/panel-access.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { formOfBallot, printedBallotOf, standingOf } from '../../session-data/paper-ballots.ts';
import { MOVE_LASTS_MS } from '../../session-data/seat-moves.ts';
import { pinOf, vocabularyOf } from '../../session-data/session-vocabulary.ts';
import { refuseUnless } from './print.service.ts';

/**
 * A way to the desk, by a host who has not opened the key. Whoever made it cannot go it: entering a ballot is reading it,
 * and nobody of the panel reads one before the reveal.
 */
export async function offerDesk(deps: Deps, actor: Actor, sessionId: string): Promise<DeskOffer> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  if (await hasOpenedKey(deps.db, sessionId, actor.id)) {
    throw problem('not-allowed', {
      detail: 'You have opened the key of this tasting: let another host open the desk.',
    });
  }
  const linkToken = newToken(deps.random);
  const linkUntil = new Date(deps.clock().getTime() + MOVE_LASTS_MS);
  await inSession(deps, sessionId, async (tx, session) => {
    refuseUnless(session, panel, 'open-desk');
    const id = randomUuid(deps.random);
    await insertDesk(tx, { id, sessionId, linkHash: hashToken(linkToken), linkUntil, madeBy: actor.id });
  });
  deps.security.note('desk-offered', { account: actor.id, session: sessionId });
  return { linkToken, until: linkUntil.toISOString() };
}

/** A device comes by that way, with the name of whoever keeps the desk. */
export async function openDesk(
  deps: Deps,
  actor: Actor | null,
  { token, keeper }: OpenDeskInput,
): Promise<DeskOpened> {
  const linkHash = hashToken(token);
  const found = await findDeskByLink(deps.db, linkHash);
  if (!found) throw problem('desk-refused');
  const deskToken = newToken(deps.random);
  await inSession(deps, found.sessionId, async (tx, session) => {
    if (actor && (await findPanelFor(tx, session.panelId, actor.id))) {
      throw problem('not-allowed', {
        detail:
          'This browser is signed in to the panel, and nobody of the panel reads a ballot before the reveal. Open the link on another device, or sign out there first.',
      });
    }
    if (session.state !== 'open' || session.blinding === 'single') throw problem('desk-refused');
    const desk = { tokenHash: hashToken(deskToken), keeper, now: deps.clock() };
    if (!(await takeDesk(tx, linkHash, desk))) throw problem('desk-refused');
    await appendEvent(tx, session.id, { kind: 'desk-opened', keeper }, desk.now);
  });
  return { deskToken };
}

/** A desk works while its tasting is open and nobody who hosts has the key. */
export function refuseShutDesk(session: Session): void {
  if (session.state !== 'open') {
    throw problem('wrong-state', { detail: 'The tasting is not open: nothing more is entered.' });
  }
  if (session.blinding === 'single') {
    throw problem('desk-unknown', {
      detail: 'A host has taken the key since: from then on nothing is entered from paper.',
    });
  }
}

/** How every ballot stands, and nothing of what they say. */
export async function readDesk(deps: Deps, desk: PaperDesk): Promise<DeskView> {
  const session = await sessionOrProblem(deps.db, desk.sessionId);
  const [panel, seats, entries, vocabulary] = await Promise.all([
    findPanel(deps.db, session.panelId),
    listSeats(deps.db, session.id),
    listEntriesBySeat(deps.db, session.id),
    vocabularyOf(deps.db, session.panelId, pinOf(session)),
  ]);
  const stateOf = async (seat: Seat): Promise<DeskView['ballots'][number]['state']> => {
    if (seat.withdrawnAt !== null) return 'withdrawn';
    if (seat.takenAt === null) return 'free';
    if (!seat.onPaper) return 'tablet';
    const own = entries.get(seat.id) ?? [];
    if (own.length === 0) return 'waiting';
    const ballot = await printedBallotOf(deps.db, session, seat, vocabulary);
    return standingOf(session, formOfBallot(session, ballot), own).state;
  };
  const ballots = [];
  for (const seat of seats) {
    const { number } = seat;
    ballots.push({
      seat: number,
      number: ballotNumber(session.root ?? '', number),
      state: await stateOf(seat),
    });
  }
  return {
    title: session.settings.title,
    demo: panel?.demo ?? false,
    rehearsal: session.rehearsal !== null,
    open: session.state === 'open' && session.blinding === 'double',
    keeper: desk.keeper ?? '',
    entered: entryWanted(session.settings),
    root: session.root ?? '',
    ballots,
  };
}
