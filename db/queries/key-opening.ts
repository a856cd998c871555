import { and, asc, eq, isNotNull, sql } from 'drizzle-orm';
import type { Db } from '../client.ts';
import { keyOpening } from '../schema/key-opening.ts';
import { membership } from '../schema/panel.ts';
import { session } from '../schema/session.ts';

/** Has this account opened the key of the session before its reveal? */
export async function hasOpenedKey(db: Db, sessionId: string, accountId: string): Promise<boolean> {
  const rows = await db
    .select({ at: keyOpening.at })
    .from(keyOpening)
    .where(and(eq(keyOpening.sessionId, sessionId), eq(keyOpening.accountId, accountId)));
  return rows.length > 0;
}

/** Writes down that an account opens the key, and whether it came into the panel after the sealing; false when it had before. */
export async function insertKeyOpening(
  db: Db,
  { sessionId, accountId, at }: { sessionId: string; accountId: string; at: Date },
): Promise<boolean> {
  const since = db
    .select({ since: sql`1` })
    .from(session)
    .innerJoin(
      membership,
      and(
        eq(membership.panelId, session.panelId),
        eq(membership.accountId, accountId),
        isNotNull(membership.joinedAt),
      ),
    )
    .where(and(eq(session.id, sessionId), sql`${membership.joinedAt} > ${session.sealedAt}`));
  const rows = await db
    .insert(keyOpening)
    .values({ sessionId, accountId, at, invitedSinceSealing: sql`exists ${since}` })
    .onConflictDoNothing()
    .returning({ at: keyOpening.at });
  return rows.length > 0;
}

/** Openings before the reveal, first to last. */
export async function listKeyOpenings(
  db: Db,
  sessionId: string,
): Promise<(typeof keyOpening.$inferSelect)[]> {
  return db
    .select()
    .from(keyOpening)
    .where(eq(keyOpening.sessionId, sessionId))
    .orderBy(asc(keyOpening.at), asc(keyOpening.accountId));
}
