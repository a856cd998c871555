import { id } from '@oddglass/shared/contracts/common.ts';
import {
  SITE_FILE_BYTES,
  siteBallotsInput,
  siteFileMade,
  sitePlanInput,
  siteTaken,
} from '@oddglass/shared/contracts/site-file.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { saveBallots } from './site-ballots.service.ts';
import { takePlan } from './site-import.service.ts';
import { joinBallots } from './site-join.service.ts';
import { savePlan } from './site-plan.service.ts';

const config = { access: 'signed-in' } as const;
const params = z.object({ session: id });
// A file stands in JSON as a text, whose quotes are escaped.
const bodyLimit = SITE_FILE_BYTES + 1024 * 1024;

export const siteFeature: Feature = async (app, { deps }) => {
  app.post(
    '/api/sessions/:session/sites/:site/plan',
    {
      config,
      schema: {
        params: params.extend({ site: z.coerce.number().int().min(1).max(8) }),
        response: { 200: siteFileMade },
      },
    },
    (request) => savePlan(deps, request.actor, request.params.session, request.params.site),
  );
  app.post(
    '/api/site-plans',
    {
      config,
      bodyLimit,
      schema: { body: sitePlanInput, response: { 200: z.object({ session: id, panel: id }) } },
    },
    (request) => takePlan(deps, request.actor, request.body),
  );
  app.get(
    '/api/sessions/:session/site-ballots',
    { config, schema: { params, response: { 200: siteFileMade } } },
    (request) => saveBallots(deps, request.actor, request.params.session),
  );
  app.post(
    '/api/sessions/:session/site-ballots',
    { config, bodyLimit, schema: { params, body: siteBallotsInput, response: { 200: siteTaken } } },
    (request) => joinBallots(deps, request.actor, request.params.session, request.body.file),
  );
};
