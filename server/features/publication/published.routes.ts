import { createHash } from 'node:crypto';
import { id } from '@oddglass/shared/contracts/common.ts';
import { INDEX_COLUMNS, publicationIndex } from '@oddglass/shared/contracts/publication-index.ts';
import { address, publicList, publishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { originOf } from '../../access/origin.ts';
import { atomFeed } from './feed.ts';
import { indexCsv, readIndex } from './panel-index.ts';
import { readFrozen, readList, readPublished, type FrozenFile } from './published.service.ts';

const config = { access: 'public' } as const;
const ofAddress = z.object({ address });
const ofPanel = z.object({ panel: id });
const querystring = z.object({ version: z.coerce.number().int().min(1).max(100_000).optional() });

const FOR_GOOD = 'public, max-age=31536000, immutable';
const FOR_NOW = 'public, max-age=60, must-revalidate';
const TYPES: Readonly<Record<FrozenFile, string>> = {
  'package.zip': 'application/zip',
  'result.json': 'application/json; charset=utf-8',
  'CITATION.cff': 'application/yaml; charset=utf-8',
};

const etagOf = (content: string | Uint8Array): string =>
  `"${createHash('sha256').update(content).digest('base64url')}"`;

/** A version stays as it is for good; what is newest may be another tomorrow. */
function cached(reply: FastifyReply, content: string | Uint8Array, frozen: boolean): void {
  reply.header('etag', etagOf(content)).header('cache-control', frozen ? FOR_GOOD : FOR_NOW);
}

/** What anybody may read, without an account. */
export const publishedFeature: Feature = async (app, { deps, publicUrl }) => {
  // RFC 9110, section 13.1.2: who holds the same already gets no body.
  app.addHook('onSend', async (request, reply, payload) => {
    const held = request.headers['if-none-match']?.split(',').map((tag) => tag.trim().replace(/^W\//, ''));
    const etag = reply.getHeader('etag');
    if (reply.statusCode !== 200 || typeof etag !== 'string' || !held) return payload;
    if (!held.includes(etag) && !held.includes('*')) return payload;
    reply.code(304).removeHeader('content-length').removeHeader('content-type');
    return null;
  });

  app.get(
    '/api/p/:address',
    {
      config,
      schema: { params: ofAddress, querystring, response: { 200: publishedView, 410: publishedView } },
    },
    async (request, reply) => {
      const { version } = request.query;
      const view = await readPublished(deps.db, request.params.address, version);
      const body = JSON.stringify(view);
      cached(reply, body, version !== undefined && view.state === 'published');
      // As it was checked when it was frozen: a later form of the contract must not change it.
      return reply
        .type('application/json; charset=utf-8')
        .serializer(() => body)
        .code(view.state === 'published' ? 200 : 410)
        .send(view);
    },
  );
  for (const name of Object.keys(TYPES) as FrozenFile[]) {
    app.get(
      `/api/p/:address/${name}`,
      {
        config,
        schema: { params: ofAddress, querystring, response: { 200: z.unknown() }, produces: [TYPES[name]] },
      },
      async (request, reply) => {
        const { address: at } = request.params;
        const { content, version } = await readFrozen(deps.db, at, request.query.version, name);
        cached(reply, content, request.query.version !== undefined);
        if (name === 'package.zip') {
          reply.header('content-disposition', `attachment; filename="${at}-${version}.zip"`);
        }
        return reply
          .type(TYPES[name])
          .serializer((same: unknown) => same as string)
          .send(typeof content === 'string' ? content : Buffer.from(content));
      },
    );
  }
  app.get(
    '/api/p/list/:panel',
    { config, schema: { params: ofPanel, response: { 200: publicList } } },
    async (request, reply) => {
      const { updatedAt: _updatedAt, ...list } = await readList(deps.db, request.params.panel);
      cached(reply, JSON.stringify(list), false);
      return list;
    },
  );
  app.get(
    '/api/p/list/:panel/atom.xml',
    {
      config,
      schema: { params: ofPanel, response: { 200: z.string() }, produces: ['application/atom+xml'] },
    },
    async (request, reply) => {
      const { updatedAt, ...list } = await readList(deps.db, request.params.panel);
      const xml = atomFeed(list, updatedAt, originOf(request, publicUrl));
      cached(reply, xml, false);
      return reply
        .type('application/atom+xml; charset=utf-8')
        .serializer((text: string) => text)
        .send(xml);
    },
  );
  indexRoutes(app, deps, publicUrl);
};

const INDEX_DOCS = `A line per part of what a panel lists, of a rating a line per attribute, for whoever looks across studies. Withdrawn publications are not in it. Columns:

${INDEX_COLUMNS.map(({ name, meaning }) => `- \`${name}\`: ${meaning}`).join('\n')}`;

/** The index of a panel's publications, in both forms. */
function indexRoutes(
  app: Parameters<Feature>[0],
  deps: Parameters<Feature>[1]['deps'],
  publicUrl: Parameters<Feature>[1]['publicUrl'],
): void {
  app.get(
    '/api/p/list/:panel/index.json',
    {
      config,
      schema: {
        summary: 'Index of a panel’s publications (JSON)',
        description: INDEX_DOCS,
        params: ofPanel,
        response: { 200: publicationIndex },
      },
    },
    async (request, reply) => {
      const index = await readIndex(deps.db, request.params.panel, originOf(request, publicUrl));
      cached(reply, JSON.stringify(index), false);
      return index;
    },
  );
  app.get(
    '/api/p/list/:panel/index.csv',
    {
      config,
      schema: {
        summary: 'Index of a panel’s publications (CSV)',
        description: INDEX_DOCS,
        params: ofPanel,
        response: { 200: z.string() },
        produces: ['text/csv'],
      },
    },
    async (request, reply) => {
      const csv = indexCsv(await readIndex(deps.db, request.params.panel, originOf(request, publicUrl)));
      cached(reply, csv, false);
      return reply
        .type('text/csv; charset=utf-8')
        .serializer((text: string) => text)
        .send(csv);
    },
  );
}
