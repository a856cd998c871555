import { and, eq, gt, inArray, lt, lte, or, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { attempt } from '../schema/account.ts';

export interface PointsOf {
  key: string;
  allowed: number;
  now: Date;
  /** When what is counted from now on is forgotten. */
  endsAt: Date;
}

/**
 * Takes one of the points a key has, in one statement: however many ask at once, in whatever processes, no more than
 * `allowed` get one. Nothing is counted for those who are refused.
 *
 * @returns whether it was taken, and when the count ends.
 */
export async function takePoint(
  db: Db,
  { key, allowed, now, endsAt }: PointsOf,
): Promise<{ taken: boolean; endsAt: Date }> {
  const over = lte(attempt.endsAt, now);
  const [row] = await db
    .insert(attempt)
    .values({ key, points: 1, endsAt })
    .onConflictDoUpdate({
      target: attempt.key,
      set: {
        points: sql`case when ${over} then 1 else ${attempt.points} + 1 end`,
        endsAt: sql`case when ${over} then excluded.ends_at else ${attempt.endsAt} end`,
      },
      setWhere: or(over, lt(attempt.points, allowed)),
    })
    .returning({ endsAt: attempt.endsAt });
  if (row) return { taken: true, endsAt: row.endsAt };
  const [standing] = await db.select({ endsAt: attempt.endsAt }).from(attempt).where(eq(attempt.key, key));
  return { taken: false, endsAt: standing?.endsAt ?? endsAt };
}

/** Gives a point back to the count it was taken from; a count that began since keeps its own. */
export async function givePointBack(db: Db, key: string, endsAt: Date): Promise<void> {
  await db
    .update(attempt)
    .set({ points: sql`${attempt.points} - 1` })
    .where(and(eq(attempt.key, key), eq(attempt.endsAt, endsAt), gt(attempt.points, 0)));
}

/** Removes counts that have ended; what another call holds is left to it. */
export async function sweepAttempts(db: Db, now: Date): Promise<void> {
  const over = db
    .select({ key: attempt.key })
    .from(attempt)
    .where(lte(attempt.endsAt, now))
    .for('update', { skipLocked: true });
  await db.delete(attempt).where(inArray(attempt.key, over));
}
