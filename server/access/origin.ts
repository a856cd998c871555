import type { FastifyRequest } from 'fastify';

/** Scheme and host under which people reach the pages: as configured, else as this request came in. No slash at the end. */
export function originOf(request: FastifyRequest, publicUrl: string | undefined): string {
  return publicUrl === undefined
    ? `${request.readerScheme ?? request.protocol}://${request.host}`
    : new URL(publicUrl).origin;
}

/** The same as far as readers elsewhere can use it: null where nobody told under which address the world reaches us. */
export const publicOriginOf = (publicUrl: string | undefined): string | null =>
  publicUrl === undefined ? null : new URL(publicUrl).origin;
