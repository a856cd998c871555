import { IncomingMessage } from 'node:http';
import { setTimeout as wait } from 'node:timers/promises';
import type { FastifyRequest } from 'fastify';
import fp from 'fastify-plugin';
import { actorCookie, seatTokenOf } from '../access/actor.ts';
import { hashToken } from '../access/tokens.ts';
import { isOwnMachine, networkOf } from '../guard/attempts.ts';
import type { Caller, Errand, Turns } from '../guard/turns.ts';
import { problem } from '../refusal/problem.ts';

// What is kept for readers has a pace of its own, for all readers together.
const FOR_READERS = /^\/(?:api\/)?p\/|^\/api\/docs\/(?:json|yaml)$/;
const RETRY_SECONDS = 5;

/**
 * Whoever asks without a pause waits for a turn, before anything is looked up for them. The machine itself is let
 * through: behind a proxy that tells nobody's address a whole room would have the turns of one.
 */
export const turnsPlugin = fp<{ turns: Turns; secure: boolean }>(
  async (app, { turns, secure }) => {
    app.addHook('onRequest', async (request, reply) => {
      // What the app asks itself, such as a page its API, was let in with the page.
      if (!(request.raw instanceof IncomingMessage) || isOwnMachine(request.ip)) return;
      if (FOR_READERS.test(request.url)) return;
      const ms = turns.take(errandOf(request), callerOf(request, turns, secure));
      if (ms === null) throw problem('busy', { retryAfterSeconds: RETRY_SECONDS });
      if (ms < 1) return;
      await wait(ms);
      // Whoever went away in the meantime is not worked for.
      if (request.raw.socket.destroyed) return reply.hijack();
    });
  },
  { name: 'turns', dependencies: ['problem', '@fastify/cookie'] },
);

function errandOf({ url, headers }: FastifyRequest): Errand {
  if (headers.upgrade !== undefined) return 'socket';
  if (url.startsWith('/_app/')) return 'asset';
  // The documentation is written anew for each who asks, as a page is.
  return url.startsWith('/api/') && !url.startsWith('/api/docs') ? 'call' : 'page';
}

function callerOf(request: FastifyRequest, turns: Turns, secure: boolean): Caller {
  const seat = seatTokenOf(request);
  const seatHash = seat && hashToken(seat);
  if (seatHash && turns.isKnown(seatHash)) return { who: 'seat', id: seatHash };
  const signIn = request.cookies[actorCookie(secure)];
  const signInHash = signIn && hashToken(signIn);
  if (signInHash && turns.isKnown(signInHash)) return { who: 'signIn', id: signInHash };
  return { who: 'network', id: networkOf(request.ip) };
}
