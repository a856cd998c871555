import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import { asc, eq, or } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { ballot } from '../schema/ballot.ts';
import { serving, tray } from '../schema/session.ts';

export type Ballot = typeof ballot.$inferSelect;

/** Stores a ballot unless its id or its tray has one already; the unique constraints settle every race. */
export async function insertBallot(db: Db, row: Ballot): Promise<boolean> {
  const added = await db.insert(ballot).values(row).onConflictDoNothing().returning({ id: ballot.id });
  return added.length > 0;
}

const receiptColumns = {
  id: ballot.id,
  trayId: ballot.trayId,
  replicate: tray.replicate,
  odd: serving.code,
  confidence: ballot.confidence,
  descriptors: ballot.descriptors,
  comment: ballot.comment,
  receivedAt: ballot.receivedAt,
};

/** The stored ballot that stands in the way of one with this id on this tray. */
export async function findStanding(
  db: Db,
  trayId: string,
  id: string,
): Promise<(BallotReceipt & { seatId: string }) | undefined> {
  const [row] = await db
    .select({ ...receiptColumns, seatId: tray.seatId })
    .from(ballot)
    .innerJoin(tray, eq(tray.id, ballot.trayId))
    .innerJoin(serving, eq(serving.id, ballot.oddServingId))
    .where(or(eq(ballot.trayId, trayId), eq(ballot.id, id)))
    .limit(1);
  return row && { ...row, receivedAt: row.receivedAt.toISOString() };
}

export async function listBallotsOfSeat(db: Db, seatId: string): Promise<BallotReceipt[]> {
  const rows = await db
    .select(receiptColumns)
    .from(ballot)
    .innerJoin(tray, eq(tray.id, ballot.trayId))
    .innerJoin(serving, eq(serving.id, ballot.oddServingId))
    .where(eq(tray.seatId, seatId))
    .orderBy(asc(tray.replicate));
  return rows.map((row) => ({ ...row, receivedAt: row.receivedAt.toISOString() }));
}

/** All ballots of a session: for the analysis past the reveal. */
export async function listBallots(db: Db, sessionId: string): Promise<Ballot[]> {
  return db.select().from(ballot).where(eq(ballot.sessionId, sessionId)).orderBy(asc(ballot.id));
}
