import { createCipheriv, createDecipheriv, createHmac, hkdfSync, scrypt, timingSafeEqual } from 'node:crypto';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import type { z } from 'zod';
import { problem } from '../../refusal/problem.ts';

// AES-256-GCM under keys made by HKDF or, of a code that people type, by scrypt; HMAC-SHA-256 over what can be read.
// Sources: NIST SP 800-38D, RFC 5869, RFC 7914, RFC 2104. Answers are enciphered because whoever carries them may host.

const CIPHER = 'aes-256-gcm';
const IV_BYTES = 12;
const TAG_BYTES = 16;

/** @throws the problem 'site-file-refused' with what is wrong, in a sentence. */
export function refused(detail: string): never {
  throw problem('site-file-refused', { detail });
}

const keyFor = (secret: Buffer, use: string): Buffer =>
  Buffer.from(hkdfSync('sha256', secret, Buffer.alloc(0), `oddglass site ${use}`, 32));

/** The key of a code: slow to try, since a code is short beside a key. */
export function keyOfCode(code: string, salt: string): Promise<Buffer> {
  const plain = code.toUpperCase().replace(/[^0-9A-Z]/g, '');
  return new Promise((resolve, reject) => {
    const cost = { N: 2 ** 15, r: 8, p: 1, maxmem: 64 * 1024 * 1024 };
    scrypt(plain, Buffer.from(salt, 'base64url'), 32, cost, (reason, key) =>
      reason ? reject(reason) : resolve(key),
    );
  });
}

/** Enciphers a text; the same text under the same key is the same, so that a file saved twice is one file. */
function encipher(key: Buffer, text: string): string {
  const iv = createHmac('sha256', keyFor(key, 'iv')).update(text).digest().subarray(0, IV_BYTES);
  const cipher = createCipheriv(CIPHER, keyFor(key, 'cipher'), iv);
  const body = Buffer.concat([cipher.update(text, 'utf8'), cipher.final()]);
  return Buffer.concat([iv, body, cipher.getAuthTag()]).toString('base64url');
}

function decipher(key: Buffer, sealed: string): string | null {
  const all = Buffer.from(sealed, 'base64url');
  if (all.length < IV_BYTES + TAG_BYTES) return null;
  try {
    const opening = createDecipheriv(CIPHER, keyFor(key, 'cipher'), all.subarray(0, IV_BYTES));
    opening.setAuthTag(all.subarray(-TAG_BYTES));
    const body = all.subarray(IV_BYTES, -TAG_BYTES);
    return Buffer.concat([opening.update(body), opening.final()]).toString('utf8');
  } catch {
    return null;
  }
}

/** A file whose `sealed` holds `body`. */
export const closed = (key: Buffer, body: unknown): string => encipher(key, canonicalJson(body));

/** What a file's `sealed` holds; null when the key does not fit, a byte changed, or it was never made by this form. */
export function opened<S extends z.ZodType>(key: Buffer, sealed: string, schema: S): z.infer<S> | null {
  const text = decipher(key, sealed);
  return text === null ? null : (schema.safeParse(JSON.parse(text)).data ?? null);
}

/**
 * Reads a file that has to be canonical JSON to the byte: a blank more is another file, and base64url that is not as we
 * write it would be another text of the same bytes.
 */
export function readFile<S extends z.ZodType<{ sealed: string }>>(text: string, schema: S): z.infer<S> {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    refused('This is no file of a place: it cannot be read as JSON.');
  }
  const read = schema.safeParse(value);
  if (!read.success) refused(`This is no file of a place. ${read.error.issues[0]?.message ?? ''}`.trim());
  const { sealed } = read.data;
  const asWritten = Buffer.from(sealed, 'base64url').toString('base64url') === sealed;
  if (canonicalJson(read.data) !== text || !asWritten) refused('This file was changed since it was saved.');
  return read.data;
}

/** HMAC-SHA-256 over the canonical JSON of what stands readable in a file, hex. */
export const macOf = (secret: Buffer, readable: object): string =>
  createHmac('sha256', keyFor(secret, 'mac')).update(canonicalJson(readable)).digest('hex');

export const sameMac = (a: string, b: string): boolean =>
  a.length === b.length && timingSafeEqual(Buffer.from(a, 'hex'), Buffer.from(b, 'hex'));
