import { utf8ToBytes } from '@noble/hashes/utils.js';
import type { SampleRole } from '../contracts/part.ts';
import type { SealLeaf } from '../contracts/seal.ts';
import { atOnce, type Steps } from '../ground/in-slices.ts';
import { canonicalJson, normalised } from './canonical-json.ts';
import { inclusionProof, leafHash, merkleRoot, rootAndProofs, verifyInclusion } from './merkle.ts';
import { fromHex, shuffled, toHex, type RandomSource } from '../ground/random.ts';
import type { Plan } from './plan-draw.ts';

// Stands in every leaf, so that a later form of the seal cannot be taken for this one.
const SEAL_FORMAT = 'oddglass-seal-1';

export interface SealedSample {
  id: string;
  armId: string;
  armName: string;
  /** The part it is poured for, from 1, and what it is there for. */
  part: number;
  role: SampleRole;
  spike: string | null;
  control: 'marked' | 'hidden' | null;
}

export interface SealInput {
  /** What was planned, with samples by opaque id only. */
  settings: Record<string, unknown>;
  samples: readonly SealedSample[];
  plan: Plan;
  /** For nonces and leaf order; never the plan's own seed. */
  random: RandomSource;
}

export interface Seal {
  /** Merkle tree hash, hex. */
  root: string;
  fingerprint: string;
  leaves: SealLeaf[];
}

/**
 * Seals settings, samples, trays and seating under one root. Every leaf has a nonce of 256 bits, so that a closed leaf
 * cannot be guessed from the root, and settings and trays can be opened without telling who sat where: a tray leaf
 * holds no seat, and trays and seatings stand in random order. Bodies are copies, with every text in normal form C.
 * @throws RangeError for settings that JSON cannot hold.
 * Source: RFC 9162 section 2.1 (tree), RFC 8785 (text of a leaf).
 */
export function buildSeal(input: SealInput): Seal {
  return atOnce(buildSealSteps(input));
}

/** The same, a leaf a step: the seal of a full room takes longer than others should wait for (ground/in-slices.ts). */
export function* buildSealSteps({ settings, samples, plan, random }: SealInput): Steps<Seal> {
  const trays = plan.seats.flatMap((seat) => seat.trays.map((tray) => ({ seat: seat.number, tray })));
  const bodies: Pick<SealLeaf, 'kind' | 'body'>[] = [
    { kind: 'settings', body: settings },
    ...shuffled(random, samples).map(({ id, armId, armName, part, role, spike, control }) => ({
      kind: 'sample' as const,
      body: { id, armId, armName, part, role, spike, control },
    })),
    ...shuffled(random, trays).map(({ tray }) => ({
      kind: 'tray' as const,
      body: {
        id: tray.id,
        part: tray.part,
        replicate: tray.replicate,
        servings: tray.servings.map(({ position, code, sampleId, mark }) => ({
          position,
          code,
          sampleId,
          mark,
        })),
      },
    })),
    ...shuffled(random, trays).map(({ seat, tray }) => ({
      kind: 'seating' as const,
      body: { trayId: tray.id, seat },
    })),
  ];
  const leaves: SealLeaf[] = [];
  const hashes: Uint8Array[] = [];
  for (const [index, { kind, body }] of bodies.entries()) {
    const nonce = toHex(random.bytes(32));
    const leaf: SealLeaf = { index, kind, nonce, body: normalised(body) as SealLeaf['body'] };
    leaves.push(leaf);
    hashes.push(hashOf(leaf));
    yield;
  }
  const root = toHex(merkleRoot(hashes));
  return { root, fingerprint: fingerprint(root), leaves };
}

/** What is hashed of a leaf: canonical JSON (RFC 8785) of its kind, nonce and body, with the name of the format. */
export function leafText({ kind, nonce, body }: Pick<SealLeaf, 'kind' | 'nonce' | 'body'>): string {
  return canonicalJson({ format: SEAL_FORMAT, kind, nonce, body });
}

function hashOf({ kind, nonce, body }: Pick<SealLeaf, 'kind' | 'nonce' | 'body'>): Uint8Array {
  return leafHash(utf8ToBytes(leafText({ kind, nonce, body })));
}

/**
 * The first 48 bits of the root (hex, 64 digits) for people to compare: 'XXXX·XXXX·XXXX'.
 * @throws RangeError when it is not a root.
 */
export function fingerprint(root: string): string {
  if (!/^[0-9a-f]{64}$/i.test(root)) throw new RangeError('a root has 64 hex digits');
  const short = root.slice(0, 12).toUpperCase();
  return [short.slice(0, 4), short.slice(4, 8), short.slice(8)].join('·');
}

export type SealCheck = { ok: true } | { ok: false; reason: string };

/**
 * Recomputes the root (hex) from all leaves, in any order. Never throws: whatever cannot be read is not sealed.
 * Answers whether anything changed since sealing, not whether the plan was a good one.
 */
export function verifySeal({ leaves, root }: { leaves: readonly SealLeaf[]; root: string }): SealCheck {
  let computed: string;
  try {
    computed = toHex(merkleRoot(byIndex(leaves).map(hashOf)));
  } catch (reason) {
    return { ok: false, reason: reason instanceof Error ? reason.message : 'A leaf could not be read.' };
  }
  if (computed === root.toLowerCase()) return { ok: true };
  return { ok: false, reason: `The leaves give the root ${computed}, which is not the one that was sealed.` };
}

/** Leaves as they stand in the tree; all of them, each once. */
function byIndex(leaves: readonly SealLeaf[]): SealLeaf[] {
  const inOrder = [...leaves].sort((a, b) => a.index - b.index);
  if (inOrder.length === 0) throw new RangeError('There are no leaves.');
  if (inOrder.some(({ index }, place) => index !== place)) {
    throw new RangeError('A leaf is missing or doubled.');
  }
  return inOrder;
}

/**
 * Path (hex, from the leaf upwards) that proves the leaf at `index` under the root; needs all leaves of the seal.
 * @throws RangeError when a leaf is doubled or missing between others, or there is none at `index`. That the last
 * leaves are missing shows only when the proof is checked.
 */
export function proveLeaf(leaves: readonly SealLeaf[], index: number): string[] {
  return inclusionProof(index, byIndex(leaves).map(hashOf)).map(toHex);
}

/** A leaf with the path (hex, from the leaf upwards) that proves it under the root. */
export type ProvenLeaf = SealLeaf & { proof: string[] };

/**
 * Every leaf of a seal, in tree order, with its path, and the root (hex) they lead to: the whole tree is hashed once, so
 * that a full room opens at once. Needs all leaves of the seal, in any order.
 * @throws RangeError when a leaf is doubled or missing between others, or there are none; whether they are those of the
 * seal shows only when the root is compared with the sealed one. Source: RFC 9162 section 2.1.3.
 */
export function proveLeaves(leaves: readonly SealLeaf[]): { root: string; leaves: ProvenLeaf[] } {
  const inOrder = byIndex(leaves);
  const { root, proofs } = rootAndProofs(inOrder.map(hashOf));
  return {
    root: toHex(root),
    leaves: inOrder.map((leaf, at) => ({ ...leaf, proof: (proofs[at] ?? []).map(toHex) })),
  };
}

/** Checks one opened leaf by its path, without any other leaf; `size` is the number of leaves of the whole seal. */
export function verifyLeaf(options: {
  leaf: SealLeaf;
  size: number;
  proof: readonly string[];
  root: string;
}): boolean {
  const { leaf, size, proof, root } = options;
  try {
    return verifyInclusion({
      index: leaf.index,
      size,
      leafHash: hashOf(leaf),
      proof: proof.map(fromHex),
      root: fromHex(root),
    });
  } catch {
    return false;
  }
}
