import { createPrivateKey, X509Certificate } from 'node:crypto';
import { mkdir, readFile, rename, writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { generate } from 'selfsigned';
import type { Config } from './config.ts';
import { networkAddresses } from './addresses.ts';
import { StartRefusal } from './start-refusal.ts';

export interface Certificate {
  cert: string;
  key: string;
}

const DAY_MS = 24 * 60 * 60 * 1000;
// Browsers on tablets refuse server certificates that are valid for much longer (825 days, Apple support 103769).
const VALID_DAYS = 397;
const RENEW_DAYS = 30;

/** What `https` needs, or nothing when pages go by plain http. */
export async function readCertificate(
  tls: Config['tls'],
  dataFolder: string,
  now: Date,
): Promise<Certificate | undefined> {
  switch (tls.kind) {
    case 'none':
      return undefined;
    case 'files':
      return checked({
        cert: await readPem('TLS_CERT', tls.cert),
        key: await readPem('TLS_KEY', tls.key),
      });
    case 'self-signed':
      return localCertificate(join(dataFolder, 'tls'), now);
  }
}

async function readPem(setting: string, path: string): Promise<string> {
  return readFile(path, 'utf8').catch((error: NodeJS.ErrnoException) => {
    throw new StartRefusal(`${setting}: cannot read ${path} (${error.code}).`);
  });
}

function checked(pair: Certificate): Certificate {
  let certificate: X509Certificate;
  try {
    certificate = new X509Certificate(pair.cert);
  } catch {
    throw new StartRefusal('TLS_CERT is not a certificate in PEM form.');
  }
  if (!fits(certificate, pair.key))
    throw new StartRefusal('TLS_KEY is not the key of the certificate in TLS_CERT.');
  return pair;
}

function fits(certificate: X509Certificate, key: string): boolean {
  try {
    return certificate.checkPrivateKey(createPrivateKey(key));
  } catch {
    return false;
  }
}

/** Kept as long as it fits this machine's addresses, so that a tablet has to be told only once to trust it. */
async function localCertificate(folder: string, now: Date): Promise<Certificate> {
  const paths = { cert: join(folder, 'cert.pem'), key: join(folder, 'key.pem') };
  const wanted = ['127.0.0.1', '::1', ...networkAddresses()];
  const [cert, key] = await Promise.all(
    [paths.cert, paths.key].map((path) => readFile(path, 'utf8').catch(() => '')),
  );
  if (cert && key && stillGood(cert, key, wanted, now)) return { cert, key };

  const made = await generate([{ name: 'commonName', value: 'Oddglass on this network' }], {
    keyType: 'ec',
    curve: 'P-256',
    algorithm: 'sha256',
    notBeforeDate: new Date(now.getTime() - DAY_MS),
    notAfterDate: new Date(now.getTime() + VALID_DAYS * DAY_MS),
    extensions: [
      { name: 'basicConstraints', cA: false, critical: true },
      { name: 'keyUsage', digitalSignature: true, critical: true },
      { name: 'extKeyUsage', serverAuth: true },
      {
        name: 'subjectAltName',
        altNames: [
          ...['localhost', hostname()].map((value) => ({ type: 2 as const, value })),
          ...wanted.map((ip) => ({ type: 7 as const, ip })),
        ],
      },
    ],
  });
  await mkdir(folder, { recursive: true, mode: 0o700 });
  for (const [path, text] of [
    [paths.key, made.private],
    [paths.cert, made.cert],
  ] as const) {
    await writeFile(`${path}.new`, text, { mode: 0o600 });
    await rename(`${path}.new`, path);
  }
  return { cert: made.cert, key: made.private };
}

function stillGood(cert: string, key: string, addresses: string[], now: Date): boolean {
  try {
    const certificate = new X509Certificate(cert);
    const lasts = certificate.validToDate.getTime() - now.getTime() > RENEW_DAYS * DAY_MS;
    return lasts && fits(certificate, key) && addresses.every((address) => certificate.checkIP(address));
  } catch {
    return false;
  }
}
