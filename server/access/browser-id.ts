import type { RandomSource } from '@oddglass/shared/ground/random.ts';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { hashToken, newToken } from './tokens.ts';

const DAYS = 30;

const nameOf = (secure: boolean): string => (secure ? '__Host-oddglass-device' : 'oddglass-device');

/**
 * Hash of the random id by which a browser is known again at the door of a tasting; a new one is given where there is
 * none. It is tied to nobody, and whoever drops it is a new browser: what it counts is counted by address as well.
 */
export function browserHash(
  request: FastifyRequest,
  reply: FastifyReply,
  { random, secure }: { random: RandomSource; secure: boolean },
): string {
  const known = request.cookies[nameOf(secure)];
  if (known && /^[\w-]{22}$/.test(known)) return hashToken(known);
  const id = newToken(random);
  const cookie = { path: '/', httpOnly: true, sameSite: 'lax', secure, maxAge: DAYS * 86_400 } as const;
  reply.setCookie(nameOf(secure), id, cookie);
  return hashToken(id);
}
