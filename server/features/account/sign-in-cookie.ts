import type { FastifyReply, FastifyRequest } from 'fastify';
import type { ActorView } from '@oddglass/shared/contracts/account.ts';
import { actorCookie } from '../../access/actor.ts';
import { deviceOf } from '../../access/device.ts';
import type { FeatureOptions } from '../../feature.ts';
import { SECOND_FACTOR_MS, signOut, type Pending, type SignedIn, type Visitor } from './sign-in.service.ts';

export const visitorOf = (request: FastifyRequest): Visitor => ({
  from: request.ip,
  device: deviceOf(request.headers['user-agent']),
});

export const cookieOf = (secure: boolean) =>
  ({ path: '/', httpOnly: true, sameSite: 'lax', secure }) as const;

const pendingCookie = (secure: boolean): string => `${actorCookie(secure)}-pending`;
const pendingOf = (secure: boolean) => ({ ...cookieOf(secure), sameSite: 'strict' }) as const;

/** Gives the browser its sign-in to keep; nothing waits for a second factor any more. */
export async function remember(
  { deps, secure }: FeatureOptions,
  request: FastifyRequest,
  reply: FastifyReply,
  signedIn: SignedIn,
): Promise<ActorView> {
  // One browser holds one sign-in: what it held before would otherwise lie about, open and out of sight.
  if (request.actorOrNull) await signOut(deps, request.actorOrNull);
  const maxAge = deps.signInLasts.days * 86_400;
  reply.setCookie(actorCookie(secure), signedIn.token, { ...cookieOf(secure), maxAge });
  if (request.cookies[pendingCookie(secure)] !== undefined)
    reply.clearCookie(pendingCookie(secure), pendingOf(secure));
  return signedIn.view;
}

/** Gives the browser what it asks for its second factor with. */
export function rememberPending(secure: boolean, reply: FastifyReply, { pendingToken }: Pending): void {
  const maxAge = SECOND_FACTOR_MS / 1_000;
  reply.setCookie(pendingCookie(secure), pendingToken, { ...pendingOf(secure), maxAge });
}

export const pendingTokenOf = (secure: boolean, request: FastifyRequest): string | undefined =>
  request.cookies[pendingCookie(secure)];
