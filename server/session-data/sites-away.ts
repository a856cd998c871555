import { listSitesAway } from '@oddglass/db/queries/site.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import { seatsOfSite } from '@oddglass/shared/rules/sites.ts';
import { problem } from '../refusal/problem.ts';

/** Numbers of the seats that answer on other servers, or did; none, and nothing asked, at one place. */
export async function seatsAway(
  db: Db,
  { id, settings }: Pick<Session, 'id' | 'settings'>,
): Promise<ReadonlySet<number>> {
  if (!settings.sites) return new Set();
  const away = await listSitesAway(db, id);
  return new Set(away.flatMap(({ site }) => seatsOfSite(settings, site)));
}

/** Nothing is done here with a seat that answers elsewhere: it would answer twice. */
export async function refuseAway(db: Db, session: Session, seat: number): Promise<void> {
  if ((await seatsAway(db, session)).has(seat)) throw problem('site-elsewhere');
}
