import { sha256 } from '@noble/hashes/sha2.js';
import { toHex } from '../ground/random.ts';

// RFC 9162, section 2.1: SHA-256, leaves prefixed with 0x00, nodes with 0x01, so that neither can pass for the other.

const HASH_BYTES = 32;

function concat(...parts: Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** Hash of one leaf: SHA-256(0x00 || entry). */
export function leafHash(entry: Uint8Array): Uint8Array {
  return sha256(concat(Uint8Array.of(0), entry));
}

/** Hash of two subtrees: SHA-256(0x01 || left || right). */
export function nodeHash(left: Uint8Array, right: Uint8Array): Uint8Array {
  return sha256(concat(Uint8Array.of(1), left, right));
}

/** Largest power of two smaller than `size`. */
function split(size: number): number {
  let power = 1;
  while (power * 2 < size) power *= 2;
  return power;
}

/** Merkle tree hash (32 bytes) over leaf hashes in order, RFC 9162 2.1.1. Of no leaves: SHA-256 of no bytes. */
export function merkleRoot(leaves: readonly Uint8Array[]): Uint8Array {
  const [first] = leaves;
  if (!first) return sha256(new Uint8Array(0));
  if (leaves.length === 1) return first;
  const at = split(leaves.length);
  return nodeHash(merkleRoot(leaves.slice(0, at)), merkleRoot(leaves.slice(at)));
}

/**
 * Hashes, from the leaf upwards, that prove leaf `index` (0 to n - 1) under the root of n leaf hashes.
 * @throws RangeError when there is no such leaf. Source: RFC 9162 2.1.3.1.
 */
export function inclusionProof(index: number, leaves: readonly Uint8Array[]): Uint8Array[] {
  if (!Number.isInteger(index) || index < 0 || index >= leaves.length) {
    throw new RangeError(`there is no leaf ${index} of ${leaves.length}`);
  }
  if (leaves.length === 1) return [];
  const at = split(leaves.length);
  return index < at
    ? [...inclusionProof(index, leaves.slice(0, at)), merkleRoot(leaves.slice(at))]
    : [...inclusionProof(index - at, leaves.slice(at)), merkleRoot(leaves.slice(0, at))];
}

/**
 * Root and the paths of all leaves at once, hashing each node of the tree only once: n - 1 hashes, where a path by itself
 * takes as many. Paths are as `inclusionProof` gives them; of no leaves there are none. Source: RFC 9162 2.1.3.1.
 */
export function rootAndProofs(leaves: readonly Uint8Array[]): { root: Uint8Array; proofs: Uint8Array[][] } {
  const proofs: Uint8Array[][] = leaves.map(() => []);
  const hashOf = (from: number, to: number): Uint8Array => {
    if (to - from < 2) return merkleRoot(leaves.slice(from, to));
    const middle = from + split(to - from);
    const left = hashOf(from, middle);
    const right = hashOf(middle, to);
    // Deeper levels have written theirs by now: a path runs from the leaf upwards.
    for (let at = from; at < to; at++) proofs[at]?.push(at < middle ? right : left);
    return nodeHash(left, right);
  };
  return { root: hashOf(0, leaves.length), proofs };
}

export interface Inclusion {
  /** Place of the leaf in the tree, from 0. */
  index: number;
  /** Number of leaves in the tree. */
  size: number;
  leafHash: Uint8Array;
  proof: readonly Uint8Array[];
  root: Uint8Array;
}

/** Does the path lead from the leaf to the root? False for anything malformed. Source: RFC 9162 2.1.3.2. */
export function verifyInclusion({ index, size, leafHash: leaf, proof, root }: Inclusion): boolean {
  if (!Number.isInteger(index) || !Number.isInteger(size) || index < 0 || index >= size) return false;
  if ([leaf, root, ...proof].some(({ length }) => length !== HASH_BYTES)) return false;
  let fn = index;
  let sn = size - 1;
  let hash = leaf;
  for (const step of proof) {
    if (sn === 0) return false;
    if (fn % 2 === 1 || fn === sn) {
      hash = nodeHash(step, hash);
      while (fn % 2 === 0 && fn !== 0) {
        fn = Math.floor(fn / 2);
        sn = Math.floor(sn / 2);
      }
    } else {
      hash = nodeHash(hash, step);
    }
    fn = Math.floor(fn / 2);
    sn = Math.floor(sn / 2);
  }
  return sn === 0 && toHex(hash) === toHex(root);
}
