import { networkInterfaces } from 'node:os';
import { renderUnicodeCompact } from 'uqr';
import type { Config } from './config.ts';

export interface Addresses {
  /** For the browser on this machine; null when the server does not listen here. */
  local: string | null;
  /** For tablets on the same network, the likeliest first. */
  network: string[];
  /** As the operator set it. */
  published: string | undefined;
}

// Bridges and tunnels of containers and virtual machines, which no tablet can reach.
const INNER = /^(docker|br-|veth|virbr|vmnet|vboxnet|utun|tun|tap|tailscale|zt|lxc|podman|cni)/;

/** IPv4 addresses of this machine that others on its network can reach, wired and wireless before bridges. */
export function networkAddresses(): string[] {
  const found = Object.entries(networkInterfaces()).flatMap(([name, list = []]) =>
    list
      .filter(
        ({ family, internal, address }) => family === 'IPv4' && !internal && !address.startsWith('169.254.'),
      )
      .map(({ address }) => ({ address, inner: INNER.test(name) })),
  );
  return found.sort((a, b) => Number(a.inner) - Number(b.inner)).map(({ address }) => address);
}

/** Where the pages are, for a server that listens on `port`. */
export function addressesOf(config: Config, port: number): Addresses {
  const scheme = config.tls.kind === 'none' ? 'http' : 'https';
  const usual = scheme === 'http' ? 80 : 443;
  const at = (host: string) =>
    `${scheme}://${host.includes(':') ? `[${host}]` : host}${port === usual ? '' : `:${port}`}`;
  const { host } = config;
  const published = config.publicUrl;
  if (host === '0.0.0.0' || host === '::')
    return { local: at('localhost'), network: networkAddresses().map(at), published };
  if (host === 'localhost' || host === '::1' || host.startsWith('127.'))
    return { local: at(host === '127.0.0.1' ? 'localhost' : host), network: [], published };
  return { local: null, network: [at(host)], published };
}

/** What the terminal shows when the server is up: where to go, a QR for the tablets, and the first host's link. */
export function describeAddresses(addresses: Addresses, firstHostToken: string | null): string {
  const { local, network, published } = addresses;
  const rows = [
    ...(published ? [['Everybody', published]] : []),
    ...(local ? [['This machine', local]] : []),
    ...network.map((address, index) => [index === 0 ? 'Same network' : '', address]),
  ];
  const lines = [
    '',
    'Oddglass is ready.',
    '',
    ...rows.map(([who = '', address]) => `  ${who.padEnd(14)}${address}`),
  ];
  const forTablets = published ?? network[0];
  if (forTablets) {
    const code = renderUnicodeCompact(forTablets, { border: 2 });
    lines.push('', ...code.split('\n').map((line) => `  ${line}`), `  ${forTablets}`);
  }
  if (firstHostToken !== null) {
    const doors = [...new Set([published ?? local ?? network[0], published ? undefined : network[0]])];
    lines.push(
      '',
      'There is no host yet. This link makes the first one; it works once:',
      ...doors
        .filter((door) => door !== undefined)
        .map((door) => `  ${door}/bench/welcome#${firstHostToken}`),
    );
  }
  return [...lines, '', 'Ctrl-C stops it.', ''].join('\n');
}
