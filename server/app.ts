import { randomBytes, randomUUID } from 'node:crypto';
import { constants } from 'node:zlib';
import compress from '@fastify/compress';
import cookie from '@fastify/cookie';
import swagger from '@fastify/swagger';
import swaggerUi from '@fastify/swagger-ui';
import websocket from '@fastify/websocket';
import { openDb } from '@oddglass/db/client.ts';
import { problemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { RandomSource } from '@oddglass/shared/ground/random.ts';
import Fastify, { type FastifyInstance, type FastifyServerOptions } from 'fastify';
import {
  jsonSchemaTransform,
  jsonSchemaTransformObject,
  serializerCompiler,
  validatorCompiler,
} from 'fastify-type-provider-zod';
import type pg from 'pg';
import { Analyst } from './analyst/analyst.ts';
import type { Deps } from './deps.ts';
import { accountFeature } from './features/account/account.routes.ts';
import { issueFirstHostToken } from './features/account/account.service.ts';
import { createDemoHost } from './features/demo/demo.service.ts';
import { demoFeature } from './features/demo/demo.routes.ts';
import { healthFeature } from './features/health/health.routes.ts';
import { panelFeature } from './features/panel/panel.routes.ts';
import { paperFeature } from './features/paper/paper.routes.ts';
import { pourFeature } from './features/pour/pour.routes.ts';
import { calendarFeature } from './features/pull/calendar.routes.ts';
import { photoFeature } from './features/pull/photo.routes.ts';
import { pullFeature } from './features/pull/pull.routes.ts';
import { publicationFeature } from './features/publication/publication.routes.ts';
import { publishedFeature } from './features/publication/published.routes.ts';
import { receiptFeature } from './features/receipt/receipt.routes.ts';
import { resultFeature } from './features/result/result.routes.ts';
import { seatFeature } from './features/seat/seat.routes.ts';
import { rehearsalFeature } from './features/session/rehearsal.routes.ts';
import { sessionFeature } from './features/session/session.routes.ts';
import { siteFeature } from './features/site/site.routes.ts';
import { soloFeature } from './features/solo/solo.routes.ts';
import { storyFeature } from './features/story/story.routes.ts';
import { trialFeature } from './features/trial/trial.routes.ts';
import { vocabularyFeature } from './features/vocabulary/vocabulary.routes.ts';
import { actorPlugin } from './access/actor.ts';
import { openLimits } from './guard/attempts.ts';
import { SecurityLog } from './guard/security-log.ts';
import { SIGN_IN_LASTS, type SignInLasts } from './guard/sign-in-time.ts';
import { Turns } from './guard/turns.ts';
import { LiveHub } from './live/live-hub.ts';
import { OpenSockets } from './live/open-sockets.ts';
import { headersPlugin, type HeaderOptions } from './plugins/headers.ts';
import { problemPlugin } from './plugins/problem.ts';
import { refuseAddress, refuseConnection } from './plugins/raw-refusal.ts';
import { turnsPlugin } from './plugins/turns.ts';
import { webPlugin, type WebHandler } from './plugins/web.ts';
import { Editions } from './readers/editions.ts';
import { readersPlugin } from './readers/readers.ts';
import { Outage } from './refusal/outage.ts';
import { problem } from './refusal/problem.ts';
import { loggableError } from './refusal/loggable-error.ts';
import type { App, Feature, FeatureOptions } from './feature.ts';

export interface AppOptions {
  pool: pg.Pool;
  /** For the connection that listens; the same database as the pool's. */
  databaseUrl: string;
  clock?: () => Date;
  random?: RandomSource;
  /** Works results out; a thread of the app's own when left out. Closed with the app. */
  analyst?: Analyst;
  /** The built pages; without it only the API is served. */
  webHandler?: WebHandler | undefined;
  /** Where they are, so that those that anybody may read are made in a thread. */
  builtPages?: URL | undefined;
  /** Pages and API are reached by https: cookies are marked secure, browsers are told to stay on https. */
  secure?: boolean;
  /** Address people use when it is not the one the server sees (behind a proxy). */
  publicUrl?: string | undefined;
  trustProxy?: FastifyServerOptions['trustProxy'];
  signInLasts?: SignInLasts | undefined;
  /** How long a request may take to arrive whole, ms. */
  requestMs?: number;
  https?: { key: string | Buffer; cert: string | Buffer } | undefined;
  logger?: FastifyServerOptions['logger'];
}

declare module 'fastify' {
  interface FastifyInstance {
    /** A fresh token for the link that creates the first host; null when there is an account. */
    firstHostToken: () => Promise<string | null>;
    /** A demo panel with a host of its own; name and passphrase are told this once. */
    fillDemo: () => Promise<{ name: string; passphrase: string }>;
  }
}

// What is made for one request has to be quick; what is kept for readers is compressed harder.
const BROTLI = { params: { [constants.BROTLI_PARAM_QUALITY]: 4 } };
// A slow network sends the largest body within a few seconds.
const REQUEST_MS = 20_000;
const cryptographic: RandomSource = { bytes: (count) => new Uint8Array(randomBytes(count)) };

/** A logger that tells errors without the parameters of failed statements, wherever in the app it is called. */
function withRedactedErrors(logger: FastifyServerOptions['logger']): FastifyServerOptions['logger'] {
  if (!logger) return false;
  const chosen = logger === true ? {} : logger;
  return { ...chosen, serializers: { ...chosen.serializers, err: loggableError } };
}

// The documentation's pages load what lies beside them and ask this server only.
const DOCS_POLICY = {
  'default-src': "'self'",
  'img-src': "'self' data:",
  'style-src': "'self' 'unsafe-inline'",
  'object-src': "'none'",
  'base-uri': "'none'",
  'form-action': "'self'",
  'frame-ancestors': "'none'",
};

const FEATURES: readonly Feature[] = [
  healthFeature,
  accountFeature,
  panelFeature,
  demoFeature,
  trialFeature,
  pullFeature,
  photoFeature,
  calendarFeature,
  vocabularyFeature,
  sessionFeature,
  rehearsalFeature,
  pourFeature,
  seatFeature,
  paperFeature,
  resultFeature,
  storyFeature,
  siteFeature,
  soloFeature,
  receiptFeature,
  publicationFeature,
  publishedFeature,
];

export async function buildApp(options: AppOptions): Promise<FastifyInstance> {
  const { pool, databaseUrl, clock = () => new Date(), random = cryptographic, secure = false } = options;
  const { requestMs = REQUEST_MS } = options;
  // Node looks now and then for requests that take too long; headers allowed longer than the whole would keep it from that.
  const looked = { headersTimeout: requestMs, connectionsCheckingInterval: requestMs / 4 };
  const app = Fastify({
    logger: withRedactedErrors(options.logger),
    trustProxy: options.trustProxy ?? false,
    bodyLimit: 64 * 1024,
    genReqId: () => randomUUID(),
    // Its own answer while closing is no problem document; ours is told by problemPlugin.
    return503OnClosing: false,
    // An address that cannot be decoded never reaches a route, nor the error handler.
    frameworkErrors: (_error, request, reply) => {
      reply.hijack();
      refuseAddress(reply.raw, request.id);
    },
    clientErrorHandler: refuseConnection,
    requestTimeout: requestMs,
    ...(options.https ? { https: { ...options.https, ...looked } } : { http: looked }),
  }) as unknown as App;
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  app.removeContentTypeParser('text/plain');

  const outage = new Outage({
    probe: () => pool.query('select 1'),
    log: app.log,
    now: () => performance.now(),
  });
  const live = new LiveHub({ pool, databaseUrl, outage });
  const analyst = options.analyst ?? new Analyst({ log: app.log });
  const db = openDb(pool);
  const editions = new Editions(db);
  const deps: Deps = {
    db,
    clock,
    random,
    live,
    analyst,
    editions,
    limits: openLimits(db, clock),
    security: new SecurityLog(app.log),
    signInLasts: options.signInLasts ?? SIGN_IN_LASTS,
    sockets: new OpenSockets(),
    turns: new Turns(),
  };
  app.decorate('firstHostToken', () => issueFirstHostToken(deps));
  app.decorate('fillDemo', () => createDemoHost(deps));
  // A connection that the database drops while idle is replaced by the pool; unheard, the event would end the process.
  pool.on('error', (error) => outage.note(error));
  await live.start();
  app.addHook('onClose', () => live.close());
  app.addHook('onClose', () => analyst.close());
  app.addHook('onClose', () => outage.close());
  app.addHook('onClose', () => deps.security.close());

  const publicHost = options.publicUrl ? new URL(options.publicUrl).host : undefined;
  const proxyTrusted = (options.trustProxy ?? false) !== false;
  await registerGround(app, deps, { secure, publicHost, proxyTrusted, outage });
  await app.register(turnsPlugin, { turns: deps.turns, secure });
  await app.register(readersPlugin, { editions, built: options.builtPages });
  await app.register(actorPlugin, { deps, publicHost, secure });

  await registerDocs(app);
  await registerApi(app, { deps, secure, publicUrl: options.publicUrl });

  if (options.webHandler) await app.register(webPlugin, { handler: options.webHandler });
  else app.setNotFoundHandler(() => Promise.reject(problem('not-found')));
  return app as unknown as FastifyInstance;
}

/** Headers, cookies, refusals and sockets: what every route stands on. */
async function registerGround(
  app: App,
  { security }: Deps,
  { outage, ...ways }: HeaderOptions & { outage: Outage },
): Promise<void> {
  await app.register(headersPlugin, ways);
  await app.register(compress, { threshold: 1024, encodings: ['br', 'gzip'], brotliOptions: BROTLI });
  await app.register(cookie);
  await app.register(problemPlugin, { outage, security });
  await app.register(websocket, {
    options: {
      maxPayload: 4096,
      handleProtocols: (protocols) => (protocols.has('oddglass') ? 'oddglass' : false),
    },
  });
}

async function registerDocs(app: App): Promise<void> {
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: { title: 'Oddglass', description: 'Blind tasting of fermentation trials', version: '0.1.0' },
    },
    transform: jsonSchemaTransform,
    transformObject: jsonSchemaTransformObject,
  });
  await app.register(swaggerUi, { routePrefix: '/api/docs', staticCSP: DOCS_POLICY });
}

async function registerApi(app: App, options: FeatureOptions): Promise<void> {
  await app.register(async (api) => {
    api.addHook('onRoute', (route) => {
      // Declared once: a refusal is serialised through its schema too, so nothing else leaves with it.
      const responses = (route.schema?.response ?? {}) as Record<string, unknown>;
      route.schema = {
        ...route.schema,
        response: { '4xx': problemDocument, '5xx': problemDocument, ...responses },
      };
    });
    for (const feature of FEATURES) await api.register(feature, options);
    api.all('/api/*', { config: { access: 'public' }, schema: { hide: true } }, async () => {
      throw problem('not-found');
    });
  });
}
