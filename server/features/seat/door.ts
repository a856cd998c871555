import { hasOpenedKey } from '@oddglass/db/queries/key-opening.ts';
import { countUnfinishedSeats } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import { workloadPerSeat } from '@oddglass/shared/rules/parts.ts';
import type { Actor } from '../../access/actor.ts';
import { problem } from '../../refusal/problem.ts';

/** Who stands at the door of a tasting. */
export interface Guest {
  /** Network address. */
  from: string;
  /** Who is signed in in this browser; null for nearly everybody. */
  actor: Actor | null;
  /** Hash of the random id of this browser. */
  deviceHash: string;
}

/** One of a demo's invented people, each with a device of their own, on this machine. */
export const demoGuest = (seat: number): Guest => ({
  from: '127.0.0.1',
  actor: null,
  deviceHash: `demo ${seat}`,
});

// A couple with one tablet; whoever hands it on has finished before.
const SEATS_AT_A_TIME = 2;

/** Refuses, under the row lock of the session, who knows the key, and a browser that holds its seats already. */
export async function refuseAtDoor(tx: Db, session: Session, { actor, deviceHash }: Guest): Promise<void> {
  if (actor && (await hasOpenedKey(tx, session.id, actor.id))) {
    throw problem('knows-the-key', {
      detail: `${actor.name} is signed in on this device and opened the key of this tasting: whoever knows what is in the cups cannot taste them blind. If somebody else holds this device now, sign out of the bench first.`,
    });
  }
  const { sheets } = workloadPerSeat(session.settings.parts);
  const held = await countUnfinishedSeats(tx, { sessionId: session.id, deviceHash, sheets });
  if (held >= SEATS_AT_A_TIME) throw problem('seats-held');
}
