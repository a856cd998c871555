import type { GivenAnswer } from '@oddglass/shared/fermentation/fair-test/check.ts';
import { asc, eq } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { account } from '../schema/account.ts';
import { fairTestAnswer } from '../schema/trial.ts';

export async function insertFairTestAnswer(db: Db, row: typeof fairTestAnswer.$inferInsert): Promise<void> {
  await db.insert(fairTestAnswer).values(row);
}

/** Answers to findings of the fair-test check, oldest first. */
export async function listFairTestAnswers(db: Db, trialId: string): Promise<GivenAnswer[]> {
  const rows = await db
    .select({
      finding: fairTestAnswer.finding,
      grounds: fairTestAnswer.grounds,
      answer: fairTestAnswer.answer,
      writtenBy: account.name,
      writtenAt: fairTestAnswer.writtenAt,
    })
    .from(fairTestAnswer)
    .leftJoin(account, eq(account.id, fairTestAnswer.writtenBy))
    .where(eq(fairTestAnswer.trialId, trialId))
    .orderBy(asc(fairTestAnswer.number));
  return rows.map((row) => ({
    ...row,
    writtenBy: row.writtenBy ?? 'someone who left',
    writtenAt: row.writtenAt.toISOString(),
  }));
}
