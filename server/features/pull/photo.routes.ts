import { id } from '@oddglass/shared/contracts/common.ts';
import { PHOTO_BYTES } from '@oddglass/shared/contracts/photo.ts';
import { trialPulls } from '@oddglass/shared/contracts/pull.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { keepPhoto, readPhoto } from './photo.service.ts';

const config = { access: 'signed-in' } as const;

/** Photos of what was pulled, for the panel only. */
export const photoFeature: Feature = async (app, { deps }) => {
  app.addContentTypeParser(
    'image/jpeg',
    { parseAs: 'buffer', bodyLimit: PHOTO_BYTES },
    (_request, body, done) => done(null, body),
  );
  app.put(
    '/api/pulls/:pull/arms/:arm/photos/:photo',
    {
      config,
      bodyLimit: PHOTO_BYTES,
      schema: {
        params: z.object({ pull: id, arm: id, photo: id }),
        consumes: ['image/jpeg'],
        response: { 200: trialPulls },
      },
    },
    ({ actor, params, body }) =>
      keepPhoto(deps, actor, { pullId: params.pull, armId: params.arm, photoId: params.photo }, body),
  );
  app.get(
    '/api/photos/:photo',
    { config, schema: { params: z.object({ photo: id }), produces: ['image/jpeg'] } },
    async ({ actor, params }, reply) => {
      const jpeg = await readPhoto(deps, actor, params.photo);
      return reply
        .type('image/jpeg')
        .header('cache-control', 'no-store')
        .header('x-content-type-options', 'nosniff')
        .header('content-disposition', 'inline')
        .send(Buffer.from(jpeg));
    },
  );
};
