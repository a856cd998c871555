import type { SafetyView } from '@oddglass/shared/contracts/safety.ts';
import { desc, eq, inArray } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { armSafety } from '../schema/trial.ts';

export async function insertSafety(db: Db, row: typeof armSafety.$inferInsert): Promise<void> {
  await db.insert(armSafety).values(row);
}

/** The newest facts of each arm that has any. */
export async function newestSafety(db: Db, armIds: string[]): Promise<Map<string, SafetyView>> {
  const rows = await db
    .selectDistinctOn([armSafety.armId], {
      armId: armSafety.armId,
      mould: armSafety.mould,
      hopped: armSafety.hopped,
      stoodWarm: armSafety.stoodWarm,
      gravityFalling: armSafety.gravityFalling,
      pitchedOn: armSafety.pitchedOn,
      ph: armSafety.ph,
      phOn: armSafety.phOn,
      meterCalibratedOn: armSafety.meterCalibratedOn,
      writtenBy: account.name,
      writtenAt: armSafety.writtenAt,
    })
    .from(armSafety)
    .leftJoin(account, eq(account.id, armSafety.writtenBy))
    .where(inArray(armSafety.armId, armIds))
    .orderBy(armSafety.armId, desc(armSafety.number));
  return new Map(
    rows.map(({ armId, ...row }) => [
      armId,
      { ...row, writtenBy: row.writtenBy ?? 'someone who left', writtenAt: row.writtenAt.toISOString() },
    ]),
  );
}
