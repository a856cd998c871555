import { id } from '@oddglass/shared/contracts/common.ts';
import {
  publicationView,
  publicationViews,
  publishDraft,
  publishInput,
  publishNew,
  publishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { originOf } from '../../access/origin.ts';
import { previewPublication } from './preview.service.ts';
import * as service from './publish.service.ts';

const config = { access: 'signed-in' } as const;
// A large panel writes more lines than other requests may hold.
const bodyLimit = 1024 * 1024;
const ofTrial = z.object({ trial: id });
const ofPublication = z.object({ publication: id });

/** Publishing, for hosts. */
export const publicationFeature: Feature = async (app, { deps, publicUrl }) => {
  app.post(
    '/api/trials/:trial/publications/preview',
    { config, bodyLimit, schema: { params: ofTrial, body: publishDraft, response: { 200: publishPreview } } },
    (request) => previewPublication(deps, request.actor, request.params.trial, request.body),
  );
  app.post(
    '/api/trials/:trial/publications',
    { config, bodyLimit, schema: { params: ofTrial, body: publishNew, response: { 200: publicationView } } },
    (request) =>
      service.publishNew(
        deps,
        request.actor,
        request.params.trial,
        request.body,
        originOf(request, publicUrl),
      ),
  );
  app.get(
    '/api/trials/:trial/publications',
    { config, schema: { params: ofTrial, response: { 200: publicationViews } } },
    (request) => service.listPublications(deps, request.actor, request.params.trial),
  );
  app.post(
    '/api/publications/:publication/versions',
    {
      config,
      bodyLimit,
      schema: { params: ofPublication, body: publishInput, response: { 200: publicationView } },
    },
    (request) =>
      service.publishVersion(
        deps,
        request.actor,
        request.params.publication,
        request.body,
        originOf(request, publicUrl),
      ),
  );
  app.post(
    '/api/publications/:publication/withdraw',
    { config, schema: { params: ofPublication, response: { 200: publicationView } } },
    (request) => service.withdrawPublication(deps, request.actor, request.params.publication),
  );
};
