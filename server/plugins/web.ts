import type { IncomingMessage, ServerResponse } from 'node:http';
import type { FastifyInstance } from 'fastify';
import { INNER } from '../readers/readers.ts';

/** The built pages: handles a raw request, or calls `next` when it has nothing. */
export type WebHandler = (request: IncomingMessage, response: ServerResponse, next: () => void) => void;

// What anybody may read, and the built files: both carry a word of their own on keeping.
const PUBLIC_PAGE = /^\/(?:p\/|_app\/|mark\.svg)/;

interface ApiQuestion {
  method: string;
  url: string;
  headers: Record<string, string>;
  body: string | undefined;
}

/** Everything outside /api is a page. Pages ask the API in process, as the visitor who asked for the page. */
export async function webPlugin(app: FastifyInstance, { handler }: { handler: WebHandler }): Promise<void> {
  app.removeAllContentTypeParsers();
  app.addContentTypeParser('*', (_request, _payload, done) => done(null));

  app.all('/*', { schema: { hide: true } }, (request, reply) => {
    reply.hijack();
    for (const [name, value] of Object.entries(reply.getHeaders())) {
      // Pages carry a policy of their own, with nonces.
      if (value !== undefined && name !== 'content-security-policy') reply.raw.setHeader(name, value);
    }
    // Whatever is shown to somebody signed in or seated is gone with them; assets say for themselves how long they keep.
    if (!PUBLIC_PAGE.test(request.url)) reply.raw.setHeader('cache-control', 'no-store');
    request.raw.headers['x-forwarded-proto'] = request.readerScheme ?? request.protocol;
    const inner = request.headers[INNER];
    const answerApi = async ({ method, url, headers, body }: ApiQuestion) => {
      const answer = await app.inject({
        method: method as 'GET',
        url,
        // The answer stays in this process. A page for readers is made with the data as they are, not with those that are
        // kept: these would wait for their turn behind the page.
        headers: {
          ...headers,
          'accept-encoding': 'identity',
          ...(inner !== undefined && { [INNER]: String(inner) }),
        },
        ...(body !== undefined && { payload: body }),
        remoteAddress: request.ip,
      });
      // What the API cannot answer now, the page cannot show now either.
      const again = answer.headers['retry-after'];
      if (answer.statusCode === 503 && again && !reply.raw.headersSent)
        reply.raw.setHeader('retry-after', String(again));
      const answered: Record<string, string> = {};
      for (const [name, value] of Object.entries(answer.headers)) answered[name] = String(value);
      return { status: answer.statusCode, headers: answered, payload: answer.payload };
    };
    handler(Object.assign(request.raw, { answerApi }), reply.raw, () => {
      reply.raw.statusCode = 404;
      reply.raw.end('Nothing here');
    });
  });
}
