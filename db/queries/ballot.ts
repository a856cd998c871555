import type { AnswerLeaf } from '@oddglass/shared/design/answer-seal.ts';
import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import { and, asc, eq, or } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { answerLeaf, ballot } from '../schema/ballot.ts';
import { tray } from '../schema/session.ts';

export type Ballot = typeof ballot.$inferSelect;

/** Stores a ballot unless its id or its sheet has one already; the unique constraints settle every race. */
export async function insertBallot(db: Db, row: typeof ballot.$inferInsert): Promise<boolean> {
  const added = await db.insert(ballot).values(row).onConflictDoNothing().returning({ id: ballot.id });
  return added.length > 0;
}

const receiptColumns = {
  id: ballot.id,
  trayId: ballot.trayId,
  trayNumber: tray.number,
  part: ballot.part,
  sheet: ballot.sheet,
  answer: ballot.answer,
  comment: ballot.comment,
  receivedAt: ballot.receivedAt,
  swallowing: ballot.swallowing,
  holder: ballot.holder,
};

/** A ballot as its seat knows it, what became of its cups, and which holder of the seat sent it. */
export type HeldBallot = BallotReceipt & Pick<Ballot, 'holder' | 'swallowing'>;

/** The stored ballot that stands in the way of one with this id, or of one on this sheet. */
export async function findStanding(
  db: Db,
  { trayId, part, sheet, id }: { trayId: string; part: number; sheet: number; id: string },
): Promise<(HeldBallot & { seatId: string }) | undefined> {
  const onSheet = and(eq(ballot.trayId, trayId), eq(ballot.part, part), eq(ballot.sheet, sheet));
  const [row] = await db
    .select({ ...receiptColumns, seatId: tray.seatId })
    .from(ballot)
    .innerJoin(tray, eq(tray.id, ballot.trayId))
    .where(or(onSheet, eq(ballot.id, id)))
    .limit(1);
  return row && { ...row, receivedAt: row.receivedAt.toISOString() };
}

export async function listBallotsOfSeat(db: Db, seatId: string): Promise<HeldBallot[]> {
  const rows = await db
    .select(receiptColumns)
    .from(ballot)
    .innerJoin(tray, eq(tray.id, ballot.trayId))
    .where(eq(tray.seatId, seatId))
    .orderBy(asc(tray.number), asc(ballot.part), asc(ballot.sheet));
  return rows.map((row) => ({ ...row, receivedAt: row.receivedAt.toISOString() }));
}

/** All ballots of a session: for the analysis past the reveal. */
export async function listBallots(db: Db, sessionId: string): Promise<Ballot[]> {
  return db.select().from(ballot).where(eq(ballot.sessionId, sessionId)).orderBy(asc(ballot.id));
}

/** The seal of all answers, a leaf for each seat that had any. */
export async function insertAnswerLeaves(
  db: Db,
  sessionId: string,
  leaves: readonly AnswerLeaf[],
): Promise<void> {
  if (leaves.length === 0) return;
  await db.insert(answerLeaf).values(leaves.map((leaf) => ({ ...leaf, sessionId })));
}

export async function listAnswerLeaves(db: Db, sessionId: string): Promise<AnswerLeaf[]> {
  const { index, seatId, nonce, hash } = answerLeaf;
  return db
    .select({ index, seatId, nonce, hash })
    .from(answerLeaf)
    .where(eq(answerLeaf.sessionId, sessionId))
    .orderBy(asc(answerLeaf.index));
}

/** All ballots of a session with the seat they came from, warm-ups among them. */
export async function listBallotsBySeat(db: Db, sessionId: string): Promise<Map<string, Ballot[]>> {
  const rows = await db
    .select({ seatId: tray.seatId, ballot })
    .from(ballot)
    .innerJoin(tray, eq(tray.id, ballot.trayId))
    .where(eq(ballot.sessionId, sessionId));
  const seats = new Map<string, Ballot[]>();
  for (const row of rows) seats.set(row.seatId, [...(seats.get(row.seatId) ?? []), row.ballot]);
  return seats;
}
