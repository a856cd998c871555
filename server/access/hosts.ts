import { isIP } from 'node:net';

/**
 * Is this one of the names that lead here where the server has a public address? That address, localhost, and what no page
 * elsewhere can be called by: numeric addresses, and names without a dot as containers call one another.
 *
 * @param hostname of the request, without its port; IPv6 in brackets
 * @param publicHost of the public address, port included
 */
export function isKnownHost(hostname: string, publicHost: string): boolean {
  const name = hostname.toLowerCase().replace(/\.$/, '');
  const known = new URL(`http://${publicHost}`).hostname;
  const bare = name.replace(/^\[(.*)\]$/, '$1');
  return name === known || isIP(bare) !== 0 || (/^[a-z0-9_-]+$/.test(name) && name !== '');
}
