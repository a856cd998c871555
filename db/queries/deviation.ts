import type { DeviationView } from '@oddglass/shared/contracts/deviation.ts';
import { asc, eq, inArray } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { deviation } from '../schema/trial.ts';

export async function insertDeviation(db: Db, row: typeof deviation.$inferInsert): Promise<void> {
  await db.insert(deviation).values(row);
}

/** Deviation notes by arm, oldest first. */
export async function listDeviations(
  db: Db,
  armIds: string[],
): Promise<(DeviationView & { armId: string })[]> {
  const rows = await db
    .select({
      armId: deviation.armId,
      id: deviation.id,
      on: deviation.on,
      note: deviation.note,
      sign: deviation.sign,
      writtenBy: account.name,
      writtenAt: deviation.writtenAt,
    })
    .from(deviation)
    .leftJoin(account, eq(account.id, deviation.writtenBy))
    .where(inArray(deviation.armId, armIds))
    .orderBy(asc(deviation.on), asc(deviation.writtenAt));
  return rows.map((row) => ({
    ...row,
    writtenBy: row.writtenBy ?? 'someone who left',
    writtenAt: row.writtenAt.toISOString(),
  }));
}
