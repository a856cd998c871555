import type { Consent, Progress } from '@oddglass/shared/contracts/seat.ts';
import { and, asc, count, eq, inArray, isNotNull, isNull, lt, or } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { answerLeaf, ballot } from '../schema/ballot.ts';
import { paperEntry } from '../schema/paper.ts';
import { seat, serving, tray } from '../schema/session.ts';

export type Seat = typeof seat.$inferSelect;
export type Tray = typeof tray.$inferSelect;
export type Serving = typeof serving.$inferSelect;

// PostgreSQL takes at most 65,535 parameters a statement.
const CHUNK = 5_000;

/** The table as sealed: seats, their trays and servings, without what is in the cups. */
export async function insertSeating(
  db: Db,
  seats: (typeof seat.$inferInsert)[],
  trays: Tray[],
  servings: Serving[],
): Promise<void> {
  for (let start = 0; start < seats.length; start += CHUNK)
    await db.insert(seat).values(seats.slice(start, start + CHUNK));
  for (let start = 0; start < trays.length; start += CHUNK)
    await db.insert(tray).values(trays.slice(start, start + CHUNK));
  for (let start = 0; start < servings.length; start += CHUNK) {
    await db.insert(serving).values(servings.slice(start, start + CHUNK));
  }
}

export async function listSeats(db: Db, sessionId: string): Promise<Seat[]> {
  return db.select().from(seat).where(eq(seat.sessionId, sessionId)).orderBy(asc(seat.number));
}

/** Seats that a browser took and has not finished at: answers to some of so many sheets are missing. */
export async function countUnfinishedSeats(
  db: Db,
  { sessionId, deviceHash, sheets }: { sessionId: string; deviceHash: string; sheets: number },
): Promise<number> {
  const rows = await db
    .select({ id: seat.id })
    .from(seat)
    .leftJoin(tray, eq(tray.seatId, seat.id))
    .leftJoin(ballot, eq(ballot.trayId, tray.id))
    .where(
      and(
        eq(seat.sessionId, sessionId),
        eq(seat.deviceHash, deviceHash),
        isNotNull(seat.takenAt),
        isNull(seat.withdrawnAt),
      ),
    )
    .groupBy(seat.id)
    .having(lt(count(ballot.id), sheets));
  return rows.length;
}

/** Takes a free seat for a device; undefined when it is taken or not there. One of two racing calls wins. */
export async function takeSeat(
  db: Db,
  sessionId: string,
  number: number,
  { tokenHash, deviceHash, now }: { tokenHash: string; deviceHash: string; now: Date },
): Promise<Seat | undefined> {
  const [row] = await db
    .update(seat)
    .set({ tokenHash, deviceHash, takenAt: now })
    .where(and(eq(seat.sessionId, sessionId), eq(seat.number, number), isNull(seat.takenAt)))
    .returning();
  return row;
}

/** Sets a free seat aside for a ballot on paper; undefined when it is taken or not there. */
export async function takeForPaper(
  db: Db,
  sessionId: string,
  number: number,
  now: Date,
): Promise<Seat | undefined> {
  const [row] = await db
    .update(seat)
    .set({ onPaper: true, takenAt: now })
    .where(and(eq(seat.sessionId, sessionId), eq(seat.number, number), isNull(seat.takenAt)))
    .returning();
  return row;
}

export async function setSlip(db: Db, seatId: string, slipHash: string | null): Promise<void> {
  await db.update(seat).set({ slipHash }).where(eq(seat.id, seatId));
}

/** Gives the seat a new receipt in place of the one before: for whoever brought the slip of its ballot on paper. */
export async function renewReceipt(db: Db, seatId: string, receiptHash: string): Promise<void> {
  await db.update(seat).set({ receiptHash }).where(eq(seat.id, seatId));
}

/** Leaves a way to a taken seat for one other device; undefined when nobody sits there. A newer way ends the older one. */
export async function offerMove(
  db: Db,
  sessionId: string,
  number: number,
  way: { moveHash: string; moveUntil: Date; moveBy: 'host' | 'seat' },
): Promise<Seat | undefined> {
  const [row] = await db
    .update(seat)
    .set(way)
    .where(
      and(
        eq(seat.sessionId, sessionId),
        eq(seat.number, number),
        isNotNull(seat.takenAt),
        eq(seat.onPaper, false),
      ),
    )
    .returning();
  return row;
}

export async function findSeatByMove(db: Db, moveHash: string): Promise<Seat | undefined> {
  const [row] = await db.select().from(seat).where(eq(seat.moveHash, moveHash));
  return row;
}

/** Gives the seat to the device that brought the way to it, which is used up. To be called under the session's lock. */
export async function moveSeat(
  db: Db,
  seatId: string,
  to: Pick<Seat, 'tokenHash' | 'deviceHash' | 'holder' | 'receiptHash'>,
): Promise<void> {
  await db
    .update(seat)
    .set({ ...to, moveHash: null, moveUntil: null, moveBy: null })
    .where(eq(seat.id, seatId));
}

/** No device has the seat any more; whoever sat there has finished. To be called under the session's lock. */
export async function leaveSeat(db: Db, seatId: string): Promise<void> {
  await db
    .update(seat)
    .set({ tokenHash: null, moveHash: null, moveUntil: null, moveBy: null })
    .where(eq(seat.id, seatId));
}

/** Makes a taken seat free again, as if nobody had sat there. To be called under the session's lock. */
export async function freeSeat(db: Db, seatId: string): Promise<void> {
  await db
    .update(seat)
    .set({
      tokenHash: null,
      deviceHash: null,
      takenAt: null,
      onPaper: false,
      slipHash: null,
      holder: 0,
      moveHash: null,
      moveUntil: null,
      moveBy: null,
      cautionsConfirmedAt: null,
      progress: null,
      consentRows: null,
      consentSmallGroup: null,
      consentAt: null,
      receiptHash: null,
    })
    .where(eq(seat.id, seatId));
}

export async function findSeatByToken(db: Db, tokenHash: string): Promise<Seat | undefined> {
  const [row] = await db.select().from(seat).where(eq(seat.tokenHash, tokenHash));
  return row;
}

export async function confirmCautions(db: Db, seatId: string, now: Date): Promise<boolean> {
  const rows = await db
    .update(seat)
    .set({ cautionsConfirmedAt: now })
    .where(and(eq(seat.id, seatId), isNull(seat.cautionsConfirmedAt)))
    .returning({ id: seat.id });
  return rows.length > 0;
}

export async function setProgress(db: Db, seatId: string, progress: Progress): Promise<void> {
  await db.update(seat).set({ progress }).where(eq(seat.id, seatId));
}

/** A seat's trays in order, each with its servings left to right. */
export async function listTraysOfSeat(db: Db, seatId: string): Promise<(Tray & { servings: Serving[] })[]> {
  const trays = await db.select().from(tray).where(eq(tray.seatId, seatId)).orderBy(asc(tray.number));
  if (trays.length === 0) return [];
  const servings = await db
    .select()
    .from(serving)
    .where(
      inArray(
        serving.trayId,
        trays.map(({ id }) => id),
      ),
    )
    .orderBy(asc(serving.position));
  return trays.map((row) => ({ ...row, servings: servings.filter(({ trayId }) => trayId === row.id) }));
}

export async function findTray(
  db: Db,
  trayId: string,
): Promise<(Tray & { servings: Serving[] }) | undefined> {
  const [row] = await db.select().from(tray).where(eq(tray.id, trayId));
  if (!row) return undefined;
  const servings = await db
    .select()
    .from(serving)
    .where(eq(serving.trayId, trayId))
    .orderBy(asc(serving.position));
  return { ...row, servings };
}

export async function setConsent(
  db: Db,
  seatId: string,
  { rows, smallGroup }: Consent,
  now: Date,
): Promise<void> {
  await db
    .update(seat)
    .set({ consentRows: rows, consentSmallGroup: smallGroup, consentAt: now })
    .where(eq(seat.id, seatId));
}

/** Stores the seat's receipt; false when another one was issued before. */
export async function claimReceipt(db: Db, seatId: string, receiptHash: string): Promise<boolean> {
  const rows = await db
    .update(seat)
    .set({ receiptHash })
    .where(and(eq(seat.id, seatId), or(isNull(seat.receiptHash), eq(seat.receiptHash, receiptHash))))
    .returning({ id: seat.id });
  return rows.length > 0;
}

export async function findSeatByReceipt(db: Db, receiptHash: string): Promise<Seat | undefined> {
  const [row] = await db.select().from(seat).where(eq(seat.receiptHash, receiptHash));
  return row;
}

/** Takes a seat's answers and agreements away; false when that was done before. To be called under the session's lock. */
export async function withdrawSeat(db: Db, seatId: string, now: Date): Promise<boolean> {
  const [standing] = await db.select({ at: seat.withdrawnAt }).from(seat).where(eq(seat.id, seatId));
  if (!standing || standing.at !== null) return false;
  const trays = db.select({ id: tray.id }).from(tray).where(eq(tray.seatId, seatId));
  const gone = await db.delete(ballot).where(inArray(ballot.trayId, trays)).returning({ id: ballot.id });
  const entries = await db
    .delete(paperEntry)
    .where(eq(paperEntry.seatId, seatId))
    .returning({ id: paperEntry.id });
  await db.update(answerLeaf).set({ nonce: null }).where(eq(answerLeaf.seatId, seatId));
  await db
    .update(seat)
    .set({
      withdrawnAt: now,
      // A ballot on paper that was entered and waits for the closing is one that was given.
      withdrawnBallots: gone.length === 0 ? Math.min(entries.length, 1) : gone.length,
      progress: null,
      consentRows: null,
      consentSmallGroup: null,
      consentAt: null,
    })
    .where(eq(seat.id, seatId));
  return true;
}
