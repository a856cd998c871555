import { randomBytes } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { negotiate } from '@fastify/accept-negotiator';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import fp from 'fastify-plugin';
import type { Editions } from './editions.ts';
import { Pace, type PaceOptions } from '../guard/pace.ts';
import type { PageAnswer, PageQuestion } from './pages-message.ts';
import { Pages, type PageMade } from './pages.ts';
import { Shelf, type Encoding, type Fresh, type Kept } from './shelf.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** Scheme that the reader came by, where the app asks itself for what a reader gets. */
    readerScheme: string | null;
  }
}

// People at their own pace never notice; programs without a pause are slowed down. Our own numbers, measured by
// `npm run load`.
const READING: PaceOptions = { perSecond: 100, burst: 150, peakPerSecond: 150, longestMs: 10_000 };
// After something was made it rests three times as long, so that a wave of first readers takes a quarter of the process;
// what a thread made rests as long as it took, since that thread takes the other core.
const REST_AFTER_MAKING = 3;
const REST_OF_THREAD = 1;
const PAGE = /^\/p\//;
const PUBLIC = /^\/(?:api\/)?p\/(?:list\/([^/?]+)|([^/?]+))/;
// Written anew by the library for each who asks: a megabyte, and 50 ms.
const DOCS = /^\/api\/docs\/(?:json|yaml)$/;
/** By this header the app knows its own requests; what a page asks the API while it is made is one of them. */
export const INNER = 'x-oddglass-inner';
const COPIED = [
  'access-control-allow-origin',
  'access-control-expose-headers',
  'content-type',
  'cache-control',
  'content-disposition',
  'content-security-policy',
  'link',
  'x-robots-tag',
];

export interface ReadersOptions {
  editions: Editions;
  /** The built pages, to be made in a thread; without it the app makes them like any other. */
  built?: URL | undefined;
  pace?: PaceOptions;
}

/**
 * Everything that anybody may read without an account, pages and files alike, is made once and served from memory, so that
 * readers never take the time of those who taste. What is kept belongs to an edition: a withdrawal or a new version is
 * another one.
 */
export const readersPlugin = fp<ReadersOptions>(
  async (app, { editions, built, pace = READING }) => {
    const shelf = new Shelf();
    const reading = new Pace(pace);
    // Known to this process alone: who sends it is the app itself.
    const inner = randomBytes(16).toString('base64url');
    const pages =
      built && new Pages({ built, log: app.log, answer: (question) => answerPage(app, question, inner) });
    if (pages) app.addHook('onClose', () => pages.close());
    let making = Promise.resolve();
    app.decorateRequest('readerScheme', null);

    app.addHook('onRequest', async (request, reply) => {
      const [, list, address] = PUBLIC.exec(request.url) ?? [];
      const docs = DOCS.test(request.url);
      if (
        ((list ?? address) === undefined && !docs) ||
        (request.method !== 'GET' && request.method !== 'HEAD')
      )
        return;
      const [secret, scheme] = String(request.headers[INNER] ?? '').split(' ');
      if (secret === inner) {
        request.readerScheme = scheme ?? null;
        return;
      }
      await reading.turn();
      const edition = docs
        ? 'docs'
        : await (list === undefined ? editions.ofAddress(address ?? '') : editions.ofList(list));
      // Nothing there: said by the route or the page itself.
      if (edition === null) return;
      const key = `${request.protocol}://${request.host}${request.url}`;
      const kept = await shelf.get(key, edition, () => {
        const made = making.then(() => make({ app, inner, pages }, request));
        // One at a time, and with a rest.
        making = made.then(
          ({ rest }) => wait(rest, undefined, { ref: false }),
          () => undefined,
        );
        return made;
      });
      return answer(request, reply, kept);
    });
  },
  { name: 'readers' },
);

interface Maker {
  app: FastifyInstance;
  inner: string;
  pages: Pages | undefined;
}

/** What a page for readers asks while it is made: the data as they are, not those that are kept, which would wait behind it. */
async function answerPage(
  app: FastifyInstance,
  { url, headers }: PageQuestion,
  inner: string,
): Promise<PageAnswer & { payload: string }> {
  const scheme = headers['x-forwarded-proto'] ?? '';
  const answer = await app.inject({
    method: 'GET',
    url,
    headers: { ...headers, 'accept-encoding': 'identity', [INNER]: `${inner} ${scheme}` },
  });
  const told: Record<string, string> = {};
  for (const [name, value] of Object.entries(answer.headers)) told[name] = String(value);
  return { status: answer.statusCode, headers: told, payload: answer.payload };
}

async function make(maker: Maker, request: FastifyRequest): Promise<Fresh & { rest: number }> {
  const started = performance.now();
  const { app, pages } = maker;
  const made =
    pages && PAGE.test(request.url)
      ? await inThread(pages, request).catch((reason: unknown) => {
          app.log.warn({ err: reason }, 'a page for readers is made without its thread');
          return inProcess(maker, request);
        })
      : await inProcess(maker, request);
  const headers: Record<string, string> = {};
  for (const name of COPIED) {
    const value = made.headers[name];
    if (value !== undefined) headers[name] = value;
  }
  const times = made.byThread ? REST_OF_THREAD : REST_AFTER_MAKING;
  return { status: made.status, headers, body: made.body, rest: times * (performance.now() - started) };
}

async function inThread(pages: Pages, request: FastifyRequest): Promise<PageMade & { byThread: boolean }> {
  const made = await pages.make({
    url: request.url,
    headers: {
      host: request.host,
      'x-forwarded-proto': request.protocol,
      'accept-encoding': 'identity',
      accept: request.headers.accept ?? '*/*',
    },
  });
  return { ...made, byThread: true };
}

async function inProcess(
  { app, inner }: Maker,
  request: FastifyRequest,
): Promise<PageMade & { byThread: boolean }> {
  const { statusCode, headers, rawPayload } = await app.inject({
    method: 'GET',
    url: request.url,
    headers: {
      host: request.host,
      [INNER]: `${inner} ${request.protocol}`,
      'accept-encoding': 'identity',
      accept: request.headers.accept ?? '*/*',
    },
  });
  const told = Object.entries(headers).map(([name, value]) => [name, String(value)] as const);
  return { status: statusCode, headers: Object.fromEntries(told), body: rawPayload, byThread: false };
}

/** RFC 9110: the encoding the reader likes best of those there are, and nothing where the same is held already. */
function answer(request: FastifyRequest, reply: FastifyReply, kept: Kept): FastifyReply {
  const { bytes, headers, status } = kept;
  const offered = Object.keys(bytes).sort() as Encoding[];
  const asked = request.headers['accept-encoding'];
  const encoding = (asked && (negotiate(asked, offered) as Encoding | null)) || 'identity';
  const etag = `"${kept.etag}${encoding === 'identity' ? '' : `-${encoding}`}"`;
  reply.code(status).headers(headers).header('vary', 'accept-encoding');
  if (status === 200) {
    reply.header('etag', etag);
    const held = request.headers['if-none-match']?.split(',').map((tag) => tag.trim().replace(/^W\//, ''));
    if (held?.includes(etag) || held?.includes('*')) {
      // What the reader holds keeps the policy it came with.
      return reply.code(304).removeHeader('content-type').removeHeader('content-security-policy').send();
    }
  }
  const body = bytes[encoding] ?? bytes.identity;
  if (encoding !== 'identity') reply.header('content-encoding', encoding);
  return reply.header('content-length', body.length).send(request.method === 'HEAD' ? undefined : body);
}
