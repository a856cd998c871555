import type { LiquidEntry } from '@oddglass/shared/fermentation/ledger.ts';
import { asc, inArray } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { liquidEntry } from '../schema/trial.ts';

export async function insertLiquid(db: Db, rows: (typeof liquidEntry.$inferInsert)[]): Promise<void> {
  if (rows.length > 0) await db.insert(liquidEntry).values(rows);
}

/** What became of the liquid of these arms, in the order in which it was noted. */
export async function listLiquid(db: Db, armIds: string[]): Promise<(LiquidEntry & { armId: string })[]> {
  const rows = await db
    .select({
      armId: liquidEntry.armId,
      kind: liquidEntry.kind,
      ml: liquidEntry.ml,
      at: liquidEntry.at,
      order: liquidEntry.number,
      note: liquidEntry.note,
    })
    .from(liquidEntry)
    .where(inArray(liquidEntry.armId, armIds))
    .orderBy(asc(liquidEntry.number));
  return rows.map((row) => ({ ...row, at: row.at.toISOString() }));
}
