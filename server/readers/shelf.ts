import { createHash } from 'node:crypto';
import { promisify } from 'node:util';
import { brotliCompress, constants, gzip } from 'node:zlib';

/** An answer as the app gives it once. */
export interface Fresh {
  status: number;
  headers: Record<string, string>;
  body: Buffer;
}

export type Encoding = 'br' | 'gzip' | 'identity';

/** An answer that is kept: its bytes in each encoding, and the name of its content. */
export interface Kept {
  status: number;
  headers: Readonly<Record<string, string>>;
  /** Quoted, without the encoding. */
  etag: string;
  bytes: Readonly<Partial<Record<Encoding, Buffer>> & { identity: Buffer }>;
}

interface Entry {
  edition: string;
  kept: Promise<Kept>;
  size: number;
}

const inBrotli = promisify(brotliCompress);
const inGzip = promisify(gzip);
const COMPRESSIBLE = /^(?:text\/|application\/(?:json|yaml|atom\+xml))/;
// Below this the headers weigh more than what is saved.
const WORTH_COMPRESSING = 1024;
/** Kept answers may take this much memory; the one unread for longest leaves first. */
const MAX_BYTES = 64 * 1024 * 1024;

/**
 * Answers of frozen things, made once and kept ready in each encoding. An answer belongs to an edition; under another one
 * it is made anew. Of several readers who ask at once the first has it made, the others wait for the same.
 */
export class Shelf {
  readonly #entries = new Map<string, Entry>();
  readonly #maxBytes: number;
  #size = 0;

  constructor(maxBytes = MAX_BYTES) {
    this.#maxBytes = maxBytes;
  }

  async get(key: string, edition: string, make: () => Promise<Fresh>): Promise<Kept> {
    const known = this.#entries.get(key);
    if (known?.edition === edition) {
      // Last read, last to leave.
      this.#entries.delete(key);
      this.#entries.set(key, known);
      return known.kept;
    }
    this.#drop(key);
    const entry: Entry = { edition, kept: make().then(keep), size: 0 };
    this.#entries.set(key, entry);
    try {
      const kept = await entry.kept;
      if (this.#entries.get(key) === entry) this.#weigh(key, entry, kept);
      return kept;
    } catch (reason) {
      if (this.#entries.get(key) === entry) this.#drop(key);
      throw reason;
    }
  }

  #weigh(key: string, entry: Entry, kept: Kept): void {
    // What failed, or is not there, is asked for again.
    if (kept.status !== 200 && kept.status !== 410) return this.#drop(key);
    entry.size = Object.values(kept.bytes).reduce((sum, bytes) => sum + bytes.length, 0);
    this.#size += entry.size;
    for (const [oldest] of this.#entries) {
      if (this.#size <= this.#maxBytes) break;
      this.#drop(oldest);
    }
  }

  #drop(key: string): void {
    this.#size -= this.#entries.get(key)?.size ?? 0;
    this.#entries.delete(key);
  }
}

async function keep({ status, headers, body }: Fresh): Promise<Kept> {
  const compressible = COMPRESSIBLE.test(headers['content-type'] ?? '') && body.length >= WORTH_COMPRESSING;
  const brotli = {
    params: { [constants.BROTLI_PARAM_QUALITY]: 6, [constants.BROTLI_PARAM_SIZE_HINT]: body.length },
  };
  const [br, gz] = compressible ? await Promise.all([inBrotli(body, brotli), inGzip(body)]) : [];
  return {
    status,
    headers,
    etag: createHash('sha256').update(plain(body, headers)).digest('base64url'),
    bytes: { identity: body, ...(br && { br }), ...(gz && { gzip: gz }) },
  };
}

/** The content without the number that scripts of a page are let in by: it is another after each start. */
function plain(body: Buffer, headers: Fresh['headers']): Buffer | string {
  const nonce = /'nonce-([\w+/=-]+)'/.exec(headers['content-security-policy'] ?? '')?.[1];
  return nonce ? body.toString('utf8').replaceAll(nonce, '') : body;
}
