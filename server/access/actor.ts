import { findSeatByReceipt, findSeatByToken, type Seat } from '@oddglass/db/queries/seat.ts';
import { findDeskByToken, type PaperDesk } from '@oddglass/db/queries/paper.ts';
import { findSignedIn, noteSignedInUse } from '@oddglass/db/queries/signed-in.ts';
import type { FastifyRequest } from 'fastify';
import fp from 'fastify-plugin';
import type { Deps } from '../deps.ts';
import { problem } from '../refusal/problem.ts';
import { networkOf } from '../guard/attempts.ts';
import { signInTime } from '../guard/sign-in-time.ts';
import { hashToken } from './tokens.ts';

/** Who is signed in. A `session` is a tasting; this is the person. */
export interface Actor {
  id: string;
  name: string;
  tokenHash: string;
}

/** Who may call a route. A route that says nothing does not register. `receipt`: who holds that of a seat. `desk`: who enters ballots on paper. */
export type Access = 'public' | 'signed-in' | 'seat' | 'receipt' | 'desk';

declare module 'fastify' {
  interface FastifyContextConfig {
    access?: Access;
  }
  interface FastifyRequest {
    actorOrNull: Actor | null;
    seatOrNull: Seat | null;
    deskOrNull: PaperDesk | null;
    readonly actor: Actor;
    readonly seat: Seat;
    readonly desk: PaperDesk;
  }
}

// Written down no more often than this.
const USE_NOTED_EVERY_MS = 5 * 60_000;

/** Over https no other host, and no page on plain http, can set a cookie of this name (RFC 6265bis, `__Host-`). */
export const actorCookie = (secure: boolean): string => (secure ? '__Host-oddglass' : 'oddglass');

const SEAT_PROTOCOL = /(?:^|,)\s*seat\.([A-Za-z0-9_-]{22,64})\s*(?:,|$)/;

/** The token a tablet, or the holder of a receipt, sends along. */
export function bearerOf(request: FastifyRequest): string | undefined {
  return /^Bearer ([A-Za-z0-9_-]{22,64})$/.exec(request.headers.authorization ?? '')?.[1];
}

export function seatTokenOf(request: FastifyRequest): string | undefined {
  // A browser cannot set a header on a socket, so there the token travels as a subprotocol, never in the address.
  const [, protocol] = SEAT_PROTOCOL.exec(request.headers['sec-websocket-protocol'] ?? '') ?? [];
  return bearerOf(request) ?? protocol;
}

/** Denies what a route does not allow: who is signed in, which seat, and from which site. */
export const actorPlugin = fp<{ deps: Deps; publicHost: string | undefined; secure: boolean }>(
  async (app, { deps, publicHost, secure }) => {
    app.decorateRequest('actorOrNull', null);
    app.decorateRequest('seatOrNull', null);
    app.decorateRequest('deskOrNull', null);
    app.decorateRequest('actor', {
      getter(this: FastifyRequest) {
        if (!this.actorOrNull) throw problem('not-signed-in');
        return this.actorOrNull;
      },
    });
    app.decorateRequest('seat', {
      getter(this: FastifyRequest) {
        if (!this.seatOrNull) throw problem('seat-unknown');
        return this.seatOrNull;
      },
    });

    app.decorateRequest('desk', {
      getter(this: FastifyRequest) {
        if (!this.deskOrNull) throw problem('desk-unknown');
        return this.deskOrNull;
      },
    });

    app.addHook('onRoute', (route) => {
      if (route.url.startsWith('/api/') && !route.url.startsWith('/api/docs') && !route.config?.access) {
        throw new Error(`${route.method} ${route.url} does not say who may call it`);
      }
    });

    app.addHook('onRequest', async (request) => {
      const changes = request.method !== 'GET' && request.method !== 'HEAD';
      const upgrades = request.headers.upgrade !== undefined;
      if (changes || upgrades) refuseForeignOrigin(request, publicHost);
      if (upgrades && deps.sockets.full(networkOf(request.ip))) throw problem('too-many-sockets');

      const access = request.routeOptions.config.access;
      const cookie = request.cookies[actorCookie(secure)];
      if (access === 'signed-in' || (access === 'public' && cookie)) {
        // A socket that comes back by itself is nobody's doing.
        request.actorOrNull = await actorOf(deps, cookie ?? '', !upgrades);
        if (access === 'signed-in' && !request.actorOrNull) throw problem('not-signed-in');
      }
      if (access === 'seat') {
        const token = seatTokenOf(request);
        request.seatOrNull = (token && (await findSeatByToken(deps.db, hashToken(token)))) || null;
        if (!token || !request.seatOrNull) throw problem('seat-unknown');
        deps.turns.letIn(hashToken(token));
      }
      if (access === 'desk') {
        const token = bearerOf(request);
        request.deskOrNull = (token && (await findDeskByToken(deps.db, hashToken(token)))) || null;
        if (!token || !request.deskOrNull) throw problem('desk-unknown');
        deps.turns.letIn(hashToken(token));
      }
      if (access === 'receipt') {
        const token = bearerOf(request);
        request.seatOrNull = (token && (await findSeatByReceipt(deps.db, hashToken(token)))) || null;
        if (!request.seatOrNull) throw problem('receipt-unknown');
      }
    });
  },
  { name: 'actor', dependencies: ['problem', '@fastify/cookie'] },
);

async function actorOf(deps: Deps, cookie: string, used: boolean): Promise<Actor | null> {
  if (cookie === '') return null;
  const tokenHash = hashToken(cookie);
  const now = deps.clock();
  const found = await findSignedIn(deps.db, tokenHash, signInTime(deps.signInLasts, now));
  if (!found) return null;
  deps.turns.letIn(tokenHash);
  const { id, name, lastUsedAt } = found;
  if (used && now.getTime() - lastUsedAt.getTime() >= USE_NOTED_EVERY_MS)
    await noteSignedInUse(deps.db, tokenHash, now);
  return { id, name, tokenHash };
}

function refuseForeignOrigin(request: FastifyRequest, publicHost: string | undefined): void {
  const { origin } = request.headers;
  if (request.headers['sec-fetch-site'] === 'cross-site') throw problem('foreign-origin');
  if (origin === undefined) return;
  const host = URL.canParse(origin) ? new URL(origin).host : '';
  if (host !== request.host && host !== publicHost) throw problem('foreign-origin');
}
