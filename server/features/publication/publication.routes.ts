import { id } from '@oddglass/shared/contracts/common.ts';
import {
  publicationView,
  publicationViews,
  publishDraft,
  publishInput,
  publishNew,
  publishPreview,
} from '@oddglass/shared/contracts/publishing.ts';
import type { PackageFile } from '@oddglass/shared/publication/package.ts';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import type { Deps } from '../../deps.ts';
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

/** What a preview holds besides what readers would get, which comes checked. */
const BESIDE_PUBLICATION = publishPreview.omit({ publication: true });

/** A folder inside of a ZIP, so that unpacking it makes one. */
async function sendZip(
  { analyst }: Pick<Deps, 'analyst'>,
  reply: FastifyReply,
  name: string,
  files: readonly PackageFile[],
): Promise<FastifyReply> {
  const zip = await analyst.zip(files.map(({ path, bytes }) => ({ path: `${name}/${path}`, bytes })));
  return reply
    .type('application/zip')
    .header('content-disposition', `attachment; filename="${name}.zip"`)
    .serializer((same: unknown) => same as string)
    .send(Buffer.from(zip.buffer, zip.byteOffset, zip.byteLength));
}

/** Publishing, for hosts. */
export const publicationFeature: Feature = async (app, { deps, publicUrl }) => {
  // What is frozen names no address that only this network knows.
  const publicOrigin = publicOriginOf(publicUrl);
  const source = { app, db: deps.db, publicOrigin };
  app.post(
    '/api/trials/:trial/publications/preview',
    { config, bodyLimit, schema: { params: ofTrial, body: publishDraft, response: { 200: publishPreview } } },
    async (request, reply) => {
      const { params, body } = request;
      const { publication, ...rest } = await previewPublication(deps, request.actor, params.trial, body);
      const text = JSON.stringify(BESIDE_PUBLICATION.parse(rest));
      const whole = `${text.slice(0, -1)},"publication":${publication ?? 'null'}}`;
      return reply
        .type('application/json; charset=utf-8')
        .serializer(() => whole)
        .send({ ...rest, publication: null });
    },
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
      return sendZip(deps, reply, address, await publicationFolder(source, address));
    },
  );
  app.get(
    '/api/panels/:panel/published-folder.zip',
    { config, schema: { params: z.object({ panel: id }), ...zipped } },
    async (request, reply) => {
      const panel = await panelFor(deps.db, request.actor, request.params.panel);
      return sendZip(deps, reply, 'publications', await panelFolder(source, panel.id));
    },
  );
  app.post(
    '/api/publications/:publication/withdraw',
    { config, schema: { params: ofPublication, response: { 200: publicationView } } },
    (request) => service.withdrawPublication(deps, request.actor, request.params.publication),
  );
};
