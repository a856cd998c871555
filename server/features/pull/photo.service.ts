import { createHash } from 'node:crypto';
import { countPhotos, findPhoto, insertPhoto } from '@oddglass/db/queries/reading.ts';
import { lockTrial } from '@oddglass/db/queries/trial.ts';
import {
  PHOTO_BYTES,
  PHOTO_SIDE,
  PHOTOS_PER_READING,
  PHOTOS_PER_TRIAL,
} from '@oddglass/shared/contracts/photo.ts';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { bareJpeg } from './jpeg.ts';
import { pullAndArmFor, pullsFor } from './pulls.ts';

/** Keeps a photo under the id the device made for it, without what a camera wrote into it. */
export async function keepPhoto(
  deps: Deps,
  actor: Actor,
  { pullId, armId, photoId }: { pullId: string; armId: string; photoId: string },
  sent: unknown,
): Promise<TrialPulls> {
  const pull = await pullAndArmFor(deps.db, actor, pullId, armId);
  if (!Buffer.isBuffer(sent) || sent.length > PHOTO_BYTES) throw problem('not-a-photo');
  const bare = bareJpeg(sent);
  if (bare === null || Math.max(bare.width, bare.height) > PHOTO_SIDE) throw problem('not-a-photo');
  const sentHash = createHash('sha256').update(sent).digest('base64url');
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, pull.trialId);
    const known = await findPhoto(tx, photoId);
    if (known) {
      if (known.pullId === pullId && known.armId === armId && known.sentHash === sentHash) return;
      throw problem('id-taken');
    }
    const { ofTrial, ofReading } = await countPhotos(tx, { trialId: pull.trialId, pullId, armId });
    if (ofTrial >= PHOTOS_PER_TRIAL || ofReading >= PHOTOS_PER_READING) throw problem('too-many-photos');
    await insertPhoto(tx, {
      id: photoId,
      pullId,
      armId,
      jpeg: bare.jpeg,
      sentHash,
      writtenBy: actor.id,
      writtenAt: deps.clock(),
    });
  });
  return pullsFor(deps.db, actor, pull.trialId);
}

export async function readPhoto(deps: Deps, actor: Actor, photoId: string): Promise<Uint8Array> {
  const found = await findPhoto(deps.db, photoId);
  if (!found) throw problem('not-found');
  await trialFor(deps.db, actor, found.trialId);
  return found.jpeg;
}
