import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  inclusionProof,
  leafHash,
  merkleRoot,
  nodeHash,
  verifyInclusion,
} from '@oddglass/shared/design/merkle.ts';
import { fromHex, toHex } from '@oddglass/shared/ground/random.ts';
import { plainRoot } from './plain-tree.ts';

// The eight leaves, their roots and paths that the test programs of Certificate Transparency have printed since
// RFC 6962 (2013): google/certificate-transparency, merkletree tests; transparency-dev/merkle, testdata.
// RFC 9162 section 2.1 hashes the same way.
const ENTRIES = [
  '',
  '00',
  '10',
  '2021',
  '3031',
  '40414243',
  '5051525354555657',
  '606162636465666768696a6b6c6d6e6f',
];
const ROOTS = [
  'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
  '6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d',
  'fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125',
  'aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77',
  'd37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7',
  '4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4',
  '76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef',
  'ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c',
  '5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328',
];
const PATHS: [index: number, size: number, path: string[]][] = [
  [0, 1, []],
  [
    0,
    8,
    [
      '96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7',
      '5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e',
      '6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4',
    ],
  ],
  [
    5,
    8,
    [
      'bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b',
      'ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0',
      'd37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7',
    ],
  ],
  [2, 3, ['fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125']],
  [
    1,
    5,
    [
      '6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d',
      '5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e',
      'bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b',
    ],
  ],
];
const LEAVES = ENTRIES.map((entry) => leafHash(fromHex(entry)));

describe('the published vectors of Certificate Transparency', () => {
  test.each(ROOTS.map((root, size) => [size, root] as const))('the root of %i leaves', (size, root) => {
    expect(toHex(merkleRoot(LEAVES.slice(0, size)))).toBe(root);
  });

  test.each(PATHS)('the path of leaf %i of %i', (index, size, path) => {
    const leaves = LEAVES.slice(0, size);
    expect(inclusionProof(index, leaves).map(toHex)).toEqual(path);
    const root = fromHex(ROOTS[size] as string);
    const leaf = LEAVES[index] as Uint8Array;
    expect(verifyInclusion({ index, size, leafHash: leaf, proof: path.map(fromHex), root })).toBe(true);
  });
});

const someEntries = fc.array(fc.uint8Array({ maxLength: 20 }), { minLength: 1, maxLength: 70 });

describe('trees of any size', () => {
  test('have the root of a plain recursion with another hash library', () => {
    fc.assert(
      fc.property(someEntries, (entries) => {
        expect(toHex(merkleRoot(entries.map(leafHash)))).toBe(plainRoot(entries));
      }),
    );
  });

  test('prove every leaf of every size up to 40, at no other place and in no other size', () => {
    const all = Array.from({ length: 40 }, (_, index) => leafHash(Uint8Array.of(index)));
    for (let size = 1; size <= 40; size++) {
      const leaves = all.slice(0, size);
      const root = merkleRoot(leaves);
      leaves.forEach((leaf, index) => {
        const proof = inclusionProof(index, leaves);
        const at = (place: number) => verifyInclusion({ index: place, size, leafHash: leaf, proof, root });
        expect(leaves.flatMap((_, place) => (at(place) ? [place] : []))).toEqual([index]);
        expect(proof.length).toBeLessThanOrEqual(Math.ceil(Math.log2(size)));
      });
    }
  });

  test('do not prove with one changed bit, one hash more or one less', () => {
    fc.assert(
      fc.property(someEntries, fc.nat(), fc.nat(), fc.nat(7), (entries, pick, spot, bit) => {
        const leaves = entries.map(leafHash);
        const index = pick % leaves.length;
        const proof = inclusionProof(index, leaves);
        const honest = {
          index,
          size: leaves.length,
          leafHash: leaves[index] as Uint8Array,
          proof,
          root: merkleRoot(leaves),
        };
        expect(verifyInclusion(honest)).toBe(true);
        const bent = (bytes: Uint8Array) =>
          bytes.map((byte, at) => (at === spot % 32 ? byte ^ (1 << bit) : byte));
        expect(verifyInclusion({ ...honest, root: bent(honest.root) })).toBe(false);
        expect(verifyInclusion({ ...honest, leafHash: bent(honest.leafHash) })).toBe(false);
        proof.forEach((_, at) => {
          expect(verifyInclusion({ ...honest, proof: proof.with(at, bent(proof[at] as Uint8Array)) })).toBe(
            false,
          );
        });
        expect(verifyInclusion({ ...honest, proof: [...proof, honest.root] })).toBe(false);
        if (proof.length > 0) expect(verifyInclusion({ ...honest, proof: proof.slice(0, -1) })).toBe(false);
      }),
    );
  });

  test('a node cannot pass for a leaf, nor anything malformed for a proof', () => {
    const [left, right] = LEAVES as [Uint8Array, Uint8Array];
    const both = new Uint8Array([...left, ...right]);
    expect(toHex(leafHash(both))).not.toBe(toHex(nodeHash(left, right)));
    const honest = { index: 0, size: 2, leafHash: left, proof: [right], root: nodeHash(left, right) };
    expect(verifyInclusion(honest)).toBe(true);
    for (const index of [-1, 1, 2, 0.5, Number.NaN])
      expect(verifyInclusion({ ...honest, index })).toBe(false);
    for (const size of [0, 1, 2.5, Number.NaN, Infinity])
      expect(verifyInclusion({ ...honest, size })).toBe(false);
    expect(verifyInclusion({ ...honest, root: honest.root.slice(0, 31) })).toBe(false);
    expect(verifyInclusion({ ...honest, leafHash: new Uint8Array(0) })).toBe(false);
    expect(verifyInclusion({ ...honest, proof: [new Uint8Array(31)] })).toBe(false);
  });

  test('bytes may not move between leaf, path and root, though they hash to the same', () => {
    const [left, right] = LEAVES as [Uint8Array, Uint8Array];
    const root = nodeHash(left, right);
    const both = [...left, ...right];
    for (const at of [31, 33]) {
      const [leaf, step] = [Uint8Array.from(both.slice(0, at)), Uint8Array.from(both.slice(at))];
      // Nothing but the lengths tells this leaf from the honest one.
      expect(toHex(nodeHash(leaf, step))).toBe(toHex(root));
      expect(verifyInclusion({ index: 0, size: 2, leafHash: leaf, proof: [step], root })).toBe(false);
      expect(verifyInclusion({ index: 1, size: 2, leafHash: step, proof: [leaf], root })).toBe(false);
    }
    const short = left.slice(0, 31);
    expect(verifyInclusion({ index: 0, size: 1, leafHash: short, proof: [], root: short })).toBe(false);
    expect(verifyInclusion({ index: 0, size: 1, leafHash: left, proof: [], root: left })).toBe(true);
  });

  test('a path longer than the tree is high proves nothing, even under a root made to fit it', () => {
    const [leaf, other, third] = LEAVES as [Uint8Array, Uint8Array, Uint8Array];
    const fitting = nodeHash(other, leaf);
    expect(verifyInclusion({ index: 0, size: 1, leafHash: leaf, proof: [other], root: fitting })).toBe(false);
    const pair = nodeHash(leaf, other);
    const proof = [other, third];
    expect(verifyInclusion({ index: 0, size: 2, leafHash: leaf, proof, root: nodeHash(third, pair) })).toBe(
      false,
    );
  });

  test.each([-1, 3, 0.5, Number.NaN])('there is no leaf %d of three', (index) => {
    expect(() => inclusionProof(index, LEAVES.slice(0, 3))).toThrow(RangeError);
    expect(() => inclusionProof(index, LEAVES.slice(0, 3))).toThrow(`there is no leaf ${index} of 3`);
  });
});
