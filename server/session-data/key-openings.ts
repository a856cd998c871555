import type { Db } from '@oddglass/db/client.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { hasOpenedKey, insertKeyOpening } from '@oddglass/db/queries/key-opening.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Actor } from '../access/actor.ts';
import { inSession, type Deps } from '../deps.ts';

/** Before it was sealed there is no key, after the reveal it is everybody's. */
const isSecret = ({ state }: Pick<Session, 'state'>): boolean => state !== 'draft' && state !== 'revealed';

/** Writes down, under the row lock of the session, that somebody opens the key; only the first time is told. */
export async function noteKeyOpening(tx: Db, session: Session, actor: Actor, at: Date): Promise<void> {
  if (!isSecret(session)) return;
  if (await insertKeyOpening(tx, { sessionId: session.id, accountId: actor.id, at })) {
    await appendEvent(tx, session.id, { kind: 'key-opened', name: actor.name }, at);
  }
}

/** The same for whoever only reads: it stands written down before anything of the key leaves, and costs one look later on. */
export async function noteKeyReading(deps: Deps, session: Session, actor: Actor): Promise<void> {
  if (!isSecret(session) || (await hasOpenedKey(deps.db, session.id, actor.id))) return;
  await inSession(deps, session.id, (tx, locked) => noteKeyOpening(tx, locked, actor, deps.clock()));
}
