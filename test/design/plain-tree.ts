import { createHash } from 'node:crypto';

/** SHA-256 by node:crypto, hex. */
export function sha256Hex(...parts: (string | Uint8Array)[]): string {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest('hex');
}

/**
 * Merkle tree hash of entries, hex: RFC 9162 2.1.1 word for word, with the hash of node:crypto and the split found by
 * logarithm. Slow and plain on purpose, to hold the tree in shared against.
 */
export function plainRoot(entries: readonly Uint8Array[]): string {
  const [first] = entries;
  if (!first) return sha256Hex();
  if (entries.length === 1) return sha256Hex(Uint8Array.of(0), first);
  const at = 2 ** Math.ceil(Math.log2(entries.length) - 1);
  const halves = [entries.slice(0, at), entries.slice(at)].map((half) => Buffer.from(plainRoot(half), 'hex'));
  return sha256Hex(Uint8Array.of(1), ...halves);
}
