import { listKeyedServings, listPoured } from '@oddglass/db/queries/key.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';

/**
 * What a tasting took of each arm, mL: the cups that were ticked, or, where nobody ticked, those of the seats that were
 * taken. It is asked when the key turns: before, it would tell by its steps which cup was filled from which bottle.
 */
export async function pouredByArm(
  db: Db,
  { id, settings }: Pick<Session, 'id' | 'settings'>,
): Promise<Map<string, number>> {
  // One after the other: a transaction has one connection.
  const servings = await listKeyedServings(db, id);
  const ticked = await listPoured(db, id);
  const poured = servings.filter(({ servingId, seatTaken }) =>
    ticked.size > 0 ? ticked.has(servingId) : seatTaken,
  );
  return new Map(
    [...Map.groupBy(poured, ({ armId }) => armId)].map(([armId, cups]) => [
      armId,
      cups.length * settings.cupMl,
    ]),
  );
}
