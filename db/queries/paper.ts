import { and, asc, eq, gt, isNotNull } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { paperDesk, paperEntry } from '../schema/paper.ts';

export type PaperDesk = typeof paperDesk.$inferSelect;
export type PaperEntryRow = typeof paperEntry.$inferSelect;

/** An entry with the name of whoever made it. */
export type KeptEntry = PaperEntryRow & { keeper: string };

export async function insertDesk(db: Db, row: typeof paperDesk.$inferInsert): Promise<void> {
  await db.insert(paperDesk).values(row);
}

export async function findDeskByLink(db: Db, linkHash: string): Promise<PaperDesk | undefined> {
  const [row] = await db.select().from(paperDesk).where(eq(paperDesk.linkHash, linkHash));
  return row;
}

/** The device that brought the way to the desk keeps it from now on, and the way is used up; undefined when it was before. */
export async function openDesk(
  db: Db,
  linkHash: string,
  { tokenHash, keeper, now }: { tokenHash: string; keeper: string; now: Date },
): Promise<PaperDesk | undefined> {
  const [row] = await db
    .update(paperDesk)
    .set({ tokenHash, keeper, openedAt: now, linkHash: null })
    .where(and(eq(paperDesk.linkHash, linkHash), gt(paperDesk.linkUntil, now)))
    .returning();
  return row;
}

export async function findDeskByToken(db: Db, tokenHash: string): Promise<PaperDesk | undefined> {
  const [row] = await db
    .select()
    .from(paperDesk)
    .where(and(eq(paperDesk.tokenHash, tokenHash), isNotNull(paperDesk.openedAt)));
  return row;
}

/** Stores an entry unless its id is there already. */
export async function insertEntry(db: Db, row: PaperEntryRow): Promise<boolean> {
  const added = await db
    .insert(paperEntry)
    .values(row)
    .onConflictDoNothing()
    .returning({ id: paperEntry.id });
  return added.length > 0;
}

export async function findEntry(db: Db, id: string): Promise<PaperEntryRow | undefined> {
  const [row] = await db.select().from(paperEntry).where(eq(paperEntry.id, id));
  return row;
}

const withKeeper = (db: Db) =>
  db
    .select({ entry: paperEntry, keeper: paperDesk.keeper })
    .from(paperEntry)
    .innerJoin(paperDesk, eq(paperDesk.id, paperEntry.deskId));

const kept = ({ entry, keeper }: { entry: PaperEntryRow; keeper: string | null }): KeptEntry => ({
  ...entry,
  keeper: keeper ?? '',
});

/** Entries of a seat's ballot, first to last. */
export async function listEntriesOfSeat(db: Db, seatId: string): Promise<KeptEntry[]> {
  const rows = await withKeeper(db).where(eq(paperEntry.seatId, seatId)).orderBy(asc(paperEntry.number));
  return rows.map(kept);
}

/** Entries of a session by the seat they belong to, first to last. */
export async function listEntriesBySeat(db: Db, sessionId: string): Promise<Map<string, KeptEntry[]>> {
  const rows = await withKeeper(db)
    .where(eq(paperEntry.sessionId, sessionId))
    .orderBy(asc(paperEntry.seatId), asc(paperEntry.number));
  return Map.groupBy(rows.map(kept), ({ seatId }) => seatId);
}
