import { isIP } from 'node:net';

/** Where passkeys of this server belong: pages at `origin`, under the name `place` (the RP ID of Web Authentication). */
export interface PasskeyPlace {
  origin: string;
  place: string;
}

/**
 * Can browsers use passkeys at this address? They ask for a secure context, which is https, or a machine's own localhost,
 * and for a name: numeric addresses belong to nobody.
 *
 * @param origin scheme and host of the pages, as people reach them
 */
export function passkeyPlaceOf(origin: string): PasskeyPlace | { lacks: 'https' | 'name' } {
  const { protocol, hostname, origin: whole } = new URL(origin);
  const place = hostname.replace(/\.$/, '');
  const isLocal = place === 'localhost' || place.endsWith('.localhost');
  if (protocol !== 'https:' && !isLocal) return { lacks: 'https' };
  return isIP(place.replace(/^\[(.*)\]$/, '$1')) === 0 ? { origin: whole, place } : { lacks: 'name' };
}
