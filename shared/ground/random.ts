import { sha256 } from '@noble/hashes/sha2.js';

/** Where randomness comes from: cryptographic in the server, seeded where a plan must be reproducible. */
export interface RandomSource {
  /** `count` fresh bytes, in an array of the caller's own. */
  bytes(count: number): Uint8Array;
}

/**
 * A deterministic source from a seed of 32 bytes: SHA-256 over seed and a counter, block after block.
 * Whoever lacks the seed cannot tell it from chance; whoever has it can draw the same again. The bytes are one
 * stream: it does not matter in how many portions they are asked for.
 * @throws RangeError unless the seed has 32 bytes. Source: the idea of Hashgen in NIST SP 800-90A
 * (from memory), hashing seed and counter; the byte layout is our own: seed, then the counter as 8 bytes, big-endian.
 */
export function seededRandom(seed: Uint8Array): RandomSource {
  if (seed.length !== 32) throw new RangeError(`a seed has 32 bytes, not ${seed.length}`);
  const input = new Uint8Array(40);
  input.set(seed);
  const counter = new DataView(input.buffer);
  let block = new Uint8Array(0);
  let used = 0;
  let blocks = 0;
  return {
    bytes(count) {
      const out = new Uint8Array(count);
      for (let index = 0; index < count;) {
        if (used === block.length) {
          counter.setUint32(32, Math.floor(blocks / 2 ** 32));
          counter.setUint32(36, blocks % 2 ** 32);
          block = new Uint8Array(sha256(input));
          blocks += 1;
          used = 0;
        }
        const end = Math.min(block.length, used + count - index);
        while (used < end) out[index++] = block[used++] ?? 0;
      }
      return out;
    },
  };
}

// Half of all draws succeed at the very least, so an honest source fails this often once in 2^128.
const MAX_DRAWS = 128;

/**
 * A whole number from 0 to below - 1, each equally likely: draws again rather than fold a remainder.
 * @throws RangeError unless `below` is a whole number from 1 to 2^32; Error when the source is stuck.
 */
export function randomInt(random: RandomSource, below: number): number {
  if (!Number.isInteger(below) || below < 1 || below > 2 ** 32) {
    throw new RangeError(`a random number is drawn below 1 to 4294967296, not ${below}`);
  }
  const limit = Math.floor(2 ** 32 / below) * below;
  for (let draw = 0; draw < MAX_DRAWS; draw++) {
    const bytes = take(random, 4);
    const value = new DataView(bytes.buffer, bytes.byteOffset).getUint32(0);
    if (value < limit) return value % below;
  }
  throw new Error('the random source is stuck');
}

/** A new array in random order, every order equally likely (Fisher and Yates, in Durstenfeld's form). */
export function shuffled<T>(random: RandomSource, items: readonly T[]): T[] {
  const out = [...items];
  for (let last = out.length - 1; last > 0; last--) {
    const pick = randomInt(random, last + 1);
    [out[last], out[pick]] = [out[pick] as T, out[last] as T];
  }
  return out;
}

// A source that runs short must not be read as zeros.
function take(random: RandomSource, count: number): Uint8Array {
  const bytes = random.bytes(count);
  if (bytes.length !== count) throw new Error(`the random source gave ${bytes.length} of ${count} bytes`);
  return bytes;
}

/** A random UUID in lower case, with nothing of time in it (RFC 9562 section 5.4, version 4). */
export function randomUuid(random: RandomSource): string {
  const bytes = Uint8Array.from(take(random, 16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = toHex(bytes);
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

const HEX = Array.from({ length: 256 }, (_, byte) => byte.toString(16).padStart(2, '0'));

/** Lower-case hex of bytes. */
export function toHex(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) text += HEX[byte] ?? '';
  return text;
}

/** Bytes of a hex string; throws RangeError when it is not one. */
export function fromHex(hex: string): Uint8Array {
  if (!/^(?:[0-9a-fA-F]{2})*$/.test(hex)) throw new RangeError('not a hex string');
  return Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
}
