import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { inclusionProof, leafHash, merkleRoot, rootAndProofs } from '@oddglass/shared/design/merkle.ts';
import { drawPlan } from '@oddglass/shared/design/plan-draw.ts';
import { seededRandom, shuffled, toHex } from '@oddglass/shared/ground/random.ts';
import { buildSeal, proveLeaf, proveLeaves, verifyLeaf } from '@oddglass/shared/design/seal.ts';
import { seedOf } from './chance.ts';
import { plainRoot } from './plain-tree.ts';

describe('all paths of a tree at once', () => {
  test('are those of RFC 9162 leaf by leaf, under the root of another hash library', () => {
    for (let size = 1; size <= 70; size++) {
      const entries = Array.from({ length: size }, (_, index) => Uint8Array.of(index, size));
      const leaves = entries.map(leafHash);
      const { root, proofs } = rootAndProofs(leaves);
      expect(toHex(root)).toBe(plainRoot(entries));
      expect(proofs).toEqual(leaves.map((_, index) => inclusionProof(index, leaves)));
    }
  });

  test('of no leaves are none, under the root of none', () => {
    expect(rootAndProofs([])).toEqual({ root: merkleRoot([]), proofs: [] });
  });
});

const sealOf = (seats: number, number: number) =>
  buildSeal({
    settings: { alpha: 0.05 },
    samples: ['maple', 'birch'].map((id) => ({
      id,
      armId: `arm of ${id}`,
      armName: id,
      part: 1,
      role: 'sample',
      spike: null,
      control: null,
    })),
    plan: drawPlan({
      seats,
      parts: [{ kind: 'triangle', number: 1, replicates: 2, sampleIds: ['maple', 'birch'] }],
      seed: seedOf(number),
    }),
    random: seededRandom(seedOf(number + 1)),
  });

describe('a seal opened as a whole', () => {
  test('proves every leaf as it is proved alone, from leaves in any order', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 12 }), fc.nat(100_000), (seats, number) => {
        const seal = sealOf(seats, number);
        const proven = proveLeaves(shuffled(seededRandom(seedOf(number + 2)), seal.leaves));
        expect(proven.root).toBe(seal.root);
        proven.leaves.forEach(({ proof, ...leaf }, index) => {
          expect(leaf).toEqual(seal.leaves[index]);
          expect(proof).toEqual(proveLeaf(seal.leaves, index));
          expect(verifyLeaf({ leaf, size: seal.leaves.length, proof, root: seal.root })).toBe(true);
        });
      }),
      { numRuns: 20 },
    );
  });

  test('does not lead to the sealed root with a leaf changed, and not at all with one missing or doubled', () => {
    const { leaves, root } = sealOf(3, 7);
    const changed = leaves.map((leaf) =>
      leaf.kind === 'settings' ? { ...leaf, body: { alpha: 0.1 } } : leaf,
    );
    expect(proveLeaves(changed).root).not.toBe(root);
    expect(() => proveLeaves(leaves.toSpliced(4, 1))).toThrow(RangeError);
    expect(() => proveLeaves([...leaves, ...leaves.slice(0, 1)])).toThrow(RangeError);
    expect(() => proveLeaves([])).toThrow(RangeError);
  });
});
