import { listBallotsBySeat, type Ballot } from '@oddglass/db/queries/ballot.ts';
import { listDeviations } from '@oddglass/db/queries/deviation.ts';
import { newestServingNotes } from '@oddglass/db/queries/key.ts';
import { listKeyOpenings } from '@oddglass/db/queries/key-opening.ts';
import { listSeats, listTraysOfSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import { findSiteHome } from '@oddglass/db/queries/site.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { SiteBallots, SiteFileMade } from '@oddglass/shared/contracts/site-file.ts';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import { sessionFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { closed, macOf } from './site-envelope.ts';

const iso = (date: Date | null): string | null => date?.toISOString() ?? null;

/**
 * The evening of a place as a file for the server that sealed its plan: every ballot with its id, so that it is counted
 * once. Enciphered, for whoever carries it may host there; the same evening is the same file each time.
 */
export async function saveBallots(deps: Deps, actor: Actor, sessionId: string): Promise<SiteFileMade> {
  const { session } = await sessionFor(deps.db, actor, sessionId);
  const home = session.guest && (await findSiteHome(deps.db, sessionId));
  if (!home) throw problem('wrong-state', { detail: 'This tasting was sealed here: its ballots stay here.' });
  if (session.state !== 'closed') throw problem('wrong-state', { detail: 'Close the tasting first.' });
  const evening = await eveningOf(deps.db, session, home.arms);
  const secret = Buffer.from(home.secret, 'base64url');
  const readable = {
    format: 'oddglass-site-ballots-1',
    session: evening.session,
    root: evening.root,
    site: evening.site,
    sealed: closed(secret, evening),
  };
  return {
    name: `ballots-of-place-${evening.site}-${evening.root.slice(0, 12)}.json`,
    file: canonicalJson({ ...readable, mac: macOf(secret, readable) }),
  };
}

async function eveningOf(
  db: Db,
  session: Session,
  arms: Readonly<Record<string, string>>,
): Promise<SiteBallots> {
  const { guest, root, openedAt, closedAt } = session;
  if (!guest || !root || !openedAt || !closedAt)
    throw new Error('a closed tasting of a place has all of this');
  const [seats, ballots, notes, openings, deviations] = await Promise.all([
    listSeats(db, session.id),
    listBallotsBySeat(db, session.id),
    newestServingNotes(db, session.id),
    listKeyOpenings(db, session.id),
    listDeviations(db, Object.keys(arms)),
  ]);
  const taken: SiteBallots['seats'] = [];
  for (const seat of seats.filter(({ takenAt }) => takenAt !== null))
    taken.push(await seatOf(db, seat, guest.firstSeat, ballots.get(seat.id) ?? []));
  return {
    session: guest.session,
    root,
    site: guest.site,
    openedAt: openedAt.toISOString(),
    closedAt: closedAt.toISOString(),
    smellOnly: session.smellOnly,
    stopped: session.stoppedAt !== null,
    blinding: session.blinding,
    keyReaders: {
      accounts: openings.length,
      invited: openings.filter(({ invitedSinceSealing }) => invitedSinceSealing).length,
    },
    conditions: notes.at(-1) ?? null,
    deviations: deviations.map(({ armId, on, note, sign, writtenAt }) => ({
      armId: arms[armId] ?? armId,
      on,
      note,
      sign,
      writtenAt,
    })),
    seats: taken,
  };
}

async function seatOf(
  db: Db,
  seat: Seat,
  firstSeat: number,
  ballots: readonly Ballot[],
): Promise<SiteBallots['seats'][number]> {
  const trays = new Map((await listTraysOfSeat(db, seat.id)).map((tray) => [tray.id, tray]));
  const { consentRows, consentSmallGroup, withdrawnAt } = seat;
  return {
    seat: seat.number + firstSeat - 1,
    takenAt: iso(seat.takenAt) ?? '',
    cautionsConfirmedAt: iso(seat.cautionsConfirmedAt),
    onPaper: seat.onPaper,
    holder: seat.holder,
    consent:
      consentRows === null || consentSmallGroup === null
        ? null
        : { rows: consentRows, smallGroup: consentSmallGroup },
    consentAt: iso(seat.consentAt),
    receiptHash: seat.receiptHash,
    slipHash: seat.slipHash,
    withdrawn: withdrawnAt && { at: withdrawnAt.toISOString(), ballots: seat.withdrawnBallots ?? 0 },
    ballots: ballots
      .map((ballot) => ({
        id: ballot.id,
        trayId: ballot.trayId,
        servings: trays.get(ballot.trayId)?.servings.map(({ id }) => id) ?? [],
        part: ballot.part,
        sheet: ballot.sheet,
        answer: ballot.answer,
        comment: ballot.comment,
        swallowing: ballot.swallowing,
        holder: ballot.holder,
        receivedAt: ballot.receivedAt.toISOString(),
        paper: ballot.paperEntryId !== null,
      }))
      .sort((a, b) => (a.id < b.id ? -1 : 1)),
  };
}
