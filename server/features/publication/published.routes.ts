import { createHash } from 'node:crypto';
import { id } from '@oddglass/shared/contracts/common.ts';
import { INDEX_COLUMNS, publicationIndex } from '@oddglass/shared/contracts/publication-index.ts';
import { address, publicList, publishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { FastifyReply } from 'fastify';
import { LICENCES } from '@oddglass/shared/publication/citation.ts';
import { z } from 'zod';
import type { Feature } from '../../feature.ts';
import { originOf, publicOriginOf } from '../../access/origin.ts';
import { problem } from '../../refusal/problem.ts';
import { atomFeed } from './feed.ts';
import { indexCsv, readIndex } from './panel-index.ts';
import { readFrozen, readList, readPublished, type FrozenFile } from './published.service.ts';
import type { VersionFacts } from '@oddglass/db/queries/publication.ts';

const config = { access: 'public' } as const;
const ofAddress = z.object({ address });
const ofPanel = z.object({ panel: id });
const querystring = z.object({ version: z.coerce.number().int().min(1).max(100_000).optional() });

// A version never changes, but it may be taken back, and that has to reach whoever keeps a copy on the way.
const FOR_NOW = 'public, max-age=60, must-revalidate';
const TYPES: Readonly<Record<FrozenFile, string>> = {
  'package.zip': 'application/zip',
  'result.json': 'application/json; charset=utf-8',
  'CITATION.cff': 'application/yaml; charset=utf-8',
};

/** What stands beside a publication, which comes checked. */
const BESIDE_PUBLICATION = publishedView.omit({ publication: true });

const etagOf = (content: string | Uint8Array): string =>
  `"${createHash('sha256').update(content).digest('base64url')}"`;

function cached(reply: FastifyReply, content: string | Uint8Array): void {
  reply.header('etag', etagOf(content)).header('cache-control', FOR_NOW);
}

/** An address that nobody was told is not given to search engines, files included. */
function unlisted(reply: FastifyReply, listed: boolean): void {
  if (!listed) reply.header('x-robots-tag', 'noindex');
}

/** What belongs to a file of a version. Sources: RFC 8288; RFC 8574 of cite-as; RFC 4946 of license. */
function linked(
  reply: FastifyReply,
  at: string,
  { version, licence }: Pick<VersionFacts, 'version' | 'licence'>,
): void {
  const file = (name: string) => `/api/p/${at}/${name}?version=${version}`;
  reply.header(
    'link',
    [
      `</p/${at}?version=${version}>; rel="cite-as"`,
      `<${file('package.zip')}>; rel="item"; type="application/zip"`,
      `<${file('CITATION.cff')}>; rel="describedby"; type="application/yaml"`,
      `<${LICENCES[licence].url}>; rel="license"`,
    ].join(', '),
  );
}

/** What anybody may read, without an account. */
export const publishedFeature: Feature = async (app, { deps, publicUrl }) => {
  const publicOrigin = publicOriginOf(publicUrl);
  // What anybody may read, any page may read; cookies are not taken along, since nothing here looks at them.
  app.addHook('onRequest', async (_request, reply) => {
    reply.header('access-control-allow-origin', '*').header('access-control-expose-headers', 'etag, link');
  });
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
      const found = await readPublished(deps.db, request.params.address, version, publicOrigin);
      const { publication: text, version: facts, ...view } = found;
      const beside = JSON.stringify(BESIDE_PUBLICATION.parse(view));
      // As it was checked when it was frozen: a later form of the contract must not change it, and it is large.
      // Bytes once and for all: each turn of text into bytes takes its time.
      const body = Buffer.from(`${beside.slice(0, -1)},"publication":${text ?? 'null'}}`);
      // The text itself was summed when it was frozen.
      cached(reply, text === null ? body : `${beside} ${facts.etag}`);
      unlisted(reply, view.listed);
      if (text !== null) linked(reply, view.address, facts);
      return reply
        .type('application/json; charset=utf-8')
        .serializer(() => body as unknown as string)
        .code(view.state === 'published' ? 200 : 410)
        .send({ ...view, publication: null });
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
        const { content, version, listed } = await readFrozen(deps.db, at, request.query.version, name);
        unlisted(reply, listed);
        if (content === undefined) throw problem('publication-withdrawn');
        cached(reply, content);
        linked(reply, at, version);
        if (name === 'package.zip') {
          reply.header('content-disposition', `attachment; filename="${at}-${version.version}.zip"`);
        }
        return reply
          .type(TYPES[name])
          .serializer((same: unknown) => same as string)
          .send(typeof content === 'string' ? content : Buffer.from(content));
      },
    );
  }
  listRoutes(app, deps, publicUrl);
  indexRoutes(app, deps, publicUrl);
};

const INDEX_DOCS = `A line per part of what a panel lists, of a rating a line per attribute, for whoever looks across studies. Withdrawn publications are not in it. Columns:

${INDEX_COLUMNS.map(({ name, meaning }) => `- \`${name}\`: ${meaning}`).join('\n')}`;

type Given = [
  app: Parameters<Feature>[0],
  deps: Parameters<Feature>[1]['deps'],
  publicUrl: Parameters<Feature>[1]['publicUrl'],
];

/** What a panel lists, also for feed readers. */
function listRoutes(...[app, deps, publicUrl]: Given): void {
  app.get(
    '/api/p/list/:panel',
    { config, schema: { params: ofPanel, response: { 200: publicList } } },
    async (request, reply) => {
      const { updated: _updated, ...list } = await readList(deps.db, request.params.panel);
      cached(reply, JSON.stringify(list));
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
      const { updated, ...list } = await readList(deps.db, request.params.panel);
      const origin = originOf(request, publicUrl);
      const xml = atomFeed(list, updated, {
        self: `${origin}/api/p/list/${list.panelId}/atom.xml`,
        page: `${origin}/p/list/${list.panelId}`,
        of: (address) => `${origin}/p/${address}`,
      });
      cached(reply, xml);
      return reply
        .type('application/atom+xml; charset=utf-8')
        .serializer((text: string) => text)
        .send(xml);
    },
  );
}

/** The index of a panel's publications, in both forms. */
function indexRoutes(...[app, deps, publicUrl]: Given): void {
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
      cached(reply, JSON.stringify(index));
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
      cached(reply, csv);
      return reply
        .type('text/csv; charset=utf-8')
        .serializer((text: string) => text)
        .send(csv);
    },
  );
}
