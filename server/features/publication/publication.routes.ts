import { id } from '@oddglass/shared/contracts/common.ts';
import {
  publicationView,
  publicationViews,
  publishDraft,
  publishInput,
  publishNew,
  publishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import { zipPackage, type PackageFile } from '@oddglass/shared/publication/package.ts';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { publicOriginOf } from '../../access/origin.ts';
import { panelFor } from '../../access/panel-access.ts';
import { panelFolder, publicationFolder } from './folder.service.ts';
import { previewPublication } from './preview.service.ts';
import * as service from './publish.service.ts';

const config = { access: 'signed-in' } as const;
// A large panel writes more lines than other requests may hold.
const bodyLimit = 1024 * 1024;
const ofTrial = z.object({ trial: id });
const ofPublication = z.object({ publication: id });

/** A folder inside of a ZIP, so that unpacking it makes one. */
function sendZip(reply: FastifyReply, name: string, files: readonly PackageFile[]): FastifyReply {
  const zip = zipPackage(files.map(({ path, bytes }) => ({ path: `${name}/${path}`, bytes })));
  return reply
    .type('application/zip')
    .header('content-disposition', `attachment; filename="${name}.zip"`)
    .serializer((same: unknown) => same as string)
    .send(Buffer.from(zip));
}

/** Publishing, for hosts. */
export const publicationFeature: Feature = async (app, { deps, publicUrl }) => {
  // What is frozen names no address that only this network knows.
  const publicOrigin = publicOriginOf(publicUrl);
  const source = { app, db: deps.db, publicOrigin };
  app.post(
    '/api/trials/:trial/publications/preview',
    { config, bodyLimit, schema: { params: ofTrial, body: publishDraft, response: { 200: publishPreview } } },
    (request) => previewPublication(deps, request.actor, request.params.trial, request.body),
  );
  app.post(
    '/api/trials/:trial/publications',
    { config, bodyLimit, schema: { params: ofTrial, body: publishNew, response: { 200: publicationView } } },
    (request) => service.publishNew(deps, request.actor, request.params.trial, request.body, publicOrigin),
  );
  app.get(
    '/api/trials/:trial/publications',
    { config, schema: { params: ofTrial, response: { 200: publicationViews } } },
    async (request) => ({
      ...(await service.listPublications(deps, request.actor, request.params.trial)),
      publicOrigin,
    }),
  );
  app.post(
    '/api/publications/:publication/versions',
    {
      config,
      bodyLimit,
      schema: { params: ofPublication, body: publishInput, response: { 200: publicationView } },
    },
    (request) =>
      service.publishVersion(deps, request.actor, request.params.publication, request.body, publicOrigin),
  );
  const zipped = { response: { 200: z.unknown() }, produces: ['application/zip'] };
  app.get(
    '/api/publications/:publication/folder.zip',
    { config, schema: { params: ofPublication, ...zipped } },
    async (request, reply) => {
      const address = await service.addressFor(deps, request.actor, request.params.publication);
      return sendZip(reply, address, await publicationFolder(source, address));
    },
  );
  app.get(
    '/api/panels/:panel/published-folder.zip',
    { config, schema: { params: z.object({ panel: id }), ...zipped } },
    async (request, reply) => {
      const panel = await panelFor(deps.db, request.actor, request.params.panel);
      return sendZip(reply, 'publications', await panelFolder(source, panel.id));
    },
  );
  app.post(
    '/api/publications/:publication/withdraw',
    { config, schema: { params: ofPublication, response: { 200: publicationView } } },
    (request) => service.withdrawPublication(deps, request.actor, request.params.publication),
  );
};
