import type { Db } from '@oddglass/db/client.ts';
import { listKeyedServings, listSamples } from '@oddglass/db/queries/key.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { SimulatedCup } from '@oddglass/shared/simulation/answer.ts';

/**
 * The cups of a rehearsal by tray: simulated palates have to know what they are to find. Nobody else gets it, and of a
 * tasting it is never read.
 */
export async function truthOf(
  db: Db,
  session: Pick<Session, 'id' | 'rehearsal'>,
): Promise<ReadonlyMap<string, SimulatedCup[]>> {
  if (!session.rehearsal) throw new Error('only a rehearsal is played');
  const servings = await listKeyedServings(db, session.id);
  const roles = new Map((await listSamples(db, session.id)).map(({ id, role }) => [id, role]));
  const trays = new Map<string, SimulatedCup[]>();
  for (const { trayId, sampleId, code, position, armId, mark } of servings) {
    const cups = trays.get(trayId) ?? [];
    cups.push({ code, position, armId, mark, role: roles.get(sampleId) ?? 'sample' });
    trays.set(trayId, cups);
  }
  return trays;
}
