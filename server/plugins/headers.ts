import helmet from '@fastify/helmet';
import fp from 'fastify-plugin';
import { isKnownHost } from '../access/hosts.ts';
import { problem } from '../refusal/problem.ts';

// What pages of ours never ask for. The screen may be kept awake, a link copied: those stay as browsers have them.
const PERMISSIONS = [
  'accelerometer',
  'browsing-topics',
  'camera',
  'display-capture',
  'geolocation',
  'gyroscope',
  'hid',
  'magnetometer',
  'microphone',
  'midi',
  'payment',
  'serial',
  'usb',
  'xr-spatial-tracking',
]
  .map((feature) => `${feature}=()`)
  // Passkeys, for our own pages only.
  .concat('publickey-credentials-create=(self)', 'publickey-credentials-get=(self)')
  .join(', ');

export interface HeaderOptions {
  secure: boolean;
  publicHost: string | undefined;
  /** What a proxy says of its visitors is believed. */
  proxyTrusted: boolean;
}

/** Headers of every answer, and requests that claim to come by no way there is. */
export const headersPlugin = fp<HeaderOptions>(
  async (app, { secure, publicHost, proxyTrusted }) => {
    let told = proxyTrusted;
    await app.register(helmet, {
      contentSecurityPolicy: {
        useDefaults: false,
        directives: { defaultSrc: ["'none'"], frameAncestors: ["'none'"] },
      },
      referrerPolicy: { policy: 'same-origin' },
      // Names below this one may be other people's services.
      strictTransportSecurity: secure && { maxAge: 31_536_000, includeSubDomains: false },
    });
    app.addHook('onSend', async (request, reply) => {
      if (request.url.startsWith('/api/') && !reply.hasHeader('cache-control'))
        reply.header('cache-control', 'no-store');
    });
    app.addHook('onRequest', async (request, reply) => {
      reply.header('permissions-policy', PERMISSIONS);
      // A proxy that is believed may pass on anything as X-Forwarded-Proto.
      if (request.protocol !== 'http' && request.protocol !== 'https')
        throw problem('invalid-input', { detail: 'X-Forwarded-Proto must be http or https.' });
      if (!told && request.headers['x-forwarded-for'] !== undefined) {
        told = true;
        request.log.warn(
          'a proxy says whom it asks for and is not believed: behind it everybody counts as one (see TRUST_PROXY)',
        );
      }
      // A page of another name that was pointed at this machine: its browser would let it read what is public here.
      if (publicHost !== undefined && !isKnownHost(request.hostname, publicHost)) throw problem('wrong-host');
    });
  },
  { name: 'headers' },
);
