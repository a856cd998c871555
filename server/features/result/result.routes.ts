import { id } from '@oddglass/shared/contracts/common.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { z } from 'zod';
import type { Feature } from '../../app.ts';
import { readResult } from './result.service.ts';

export const resultFeature: Feature = async (app, { deps }) => {
  app.get(
    '/api/sessions/:session/result',
    {
      config: { access: 'signed-in' },
      schema: { params: z.object({ session: id }), response: { 200: resultDocument } },
    },
    (request) => readResult(deps, request.actor, request.params.session),
  );
};
