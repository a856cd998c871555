import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { SealLeaf } from '@oddglass/shared/contracts/seal.ts';
import { sealLeaf } from '@oddglass/shared/contracts/seal.ts';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import { drawPlan } from '@oddglass/shared/design/plan-draw.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import {
  buildSeal,
  fingerprint,
  proveLeaf,
  verifyLeaf,
  verifySeal,
  type Seal,
  type SealInput,
  type SealedSample,
} from '@oddglass/shared/design/seal.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from './chance.ts';
import { plainRoot, sha256Hex } from './plain-tree.ts';

const sample = (id: string, armId: string, armName: string): SealedSample => ({
  id,
  armId,
  armName,
  part: 1,
  role: 'sample',
  spike: null,
  control: null,
});
const SAMPLES = [sample('maple', 'arm-1', '14 °C'), sample('birch', 'arm-2', '22 °C')];
const SETTINGS = {
  test: 'triangle',
  alpha: 0.05,
  aim: 'difference',
  assessors: 5,
  samples: ['birch', 'maple'],
};

function input(seats: number, replicates: number, number = 1): SealInput {
  const plan = drawPlan({
    seats,
    parts: [{ kind: 'duo-trio', number: 1, replicates, sampleIds: ['maple', 'birch'] }],
    seed: seedOf(number),
  });
  return { settings: SETTINGS, samples: SAMPLES, plan, random: seededRandom(seedOf(number + 1_000_000)) };
}
const sealOf = (seats: number, replicates: number, number = 1): Seal =>
  buildSeal(input(seats, replicates, number));
const kindOf = (leaves: readonly SealLeaf[], kind: SealLeaf['kind']): SealLeaf[] =>
  leaves.filter((leaf) => leaf.kind === kind);
const sizes = fc.record({
  seats: fc.integer({ min: 1, max: 9 }),
  replicates: fc.integer({ min: 1, max: 4 }),
  number: fc.nat(1_000_000),
});
/** The text with the last bit of one character turned over: another character, one byte changed. */
const bent = (text: string, at: number): string =>
  text.slice(0, at) + String.fromCharCode(text.charCodeAt(at) ^ 1) + text.slice(at + 1);
const bentHex = (text: string, at: number): string =>
  text.slice(0, at) + (Number.parseInt(text.charAt(at), 16) ^ 1).toString(16) + text.slice(at + 1);
function parsed<T>(text: string): T | null {
  try {
    return JSON.parse(text) as T;
  } catch {
    return null;
  }
}

describe('a seal', () => {
  test('verifies whole, in any order of leaves and keys, and tray by tray', () => {
    fc.assert(
      fc.property(sizes, ({ seats, replicates, number }) => {
        const { root, leaves } = sealOf(seats, replicates, number);
        expect(verifySeal({ leaves, root })).toEqual({ ok: true });
        // A database may hand keys and rows back in an order of its own.
        const stored = leaves
          .toReversed()
          .map((leaf) => ({ ...leaf, body: Object.fromEntries(Object.entries(leaf.body).reverse()) }));
        expect(verifySeal({ leaves: stored, root: root.toUpperCase() })).toEqual({ ok: true });
        for (const leaf of leaves) {
          const proof = proveLeaf(stored, leaf.index);
          expect(verifyLeaf({ leaf, size: leaves.length, proof, root })).toBe(true);
        }
      }),
      { numRuns: 25 },
    );
  });

  test('is the tree of RFC 9162 over texts written out by hand', () => {
    const { root, leaves } = sealOf(3, 2);
    const q = JSON.stringify;
    const body = (leaf: SealLeaf): string => {
      const b = leaf.body;
      if (leaf.kind === 'settings') {
        return '{"aim":"difference","alpha":0.05,"assessors":5,"samples":["birch","maple"],"test":"triangle"}';
      }
      if (leaf.kind === 'sample') {
        return `{"armId":${q(b.armId)},"armName":${q(b.armName)},"control":null,"id":${q(b.id)},"part":1,"role":"sample","spike":null}`;
      }
      if (leaf.kind === 'seating') return `{"seat":${b.seat},"trayId":${q(b.trayId)}}`;
      const servings = b.servings as { code: string; mark: string; position: number; sampleId: string }[];
      const cups = servings.map(
        (cup) =>
          `{"code":"${cup.code}","mark":${q(cup.mark)},"position":${cup.position},"sampleId":"${cup.sampleId}"}`,
      );
      return `{"id":${q(b.id)},"part":${b.part},"replicate":${b.replicate},"servings":[${cups.join(',')}]}`;
    };
    const entries = leaves.map((leaf) =>
      Buffer.from(
        `{"body":${body(leaf)},"format":"oddglass-seal-1","kind":"${leaf.kind}","nonce":"${leaf.nonce}"}`,
      ),
    );
    expect(root).toBe(plainRoot(entries));
  });

  test('holds settings, samples, every tray and every seating, and nothing else', () => {
    const given = input(5, 3);
    const { leaves } = buildSeal(given);
    expect(leaves.map(({ kind }) => kind)).toEqual([
      'settings',
      ...Array<string>(2).fill('sample'),
      ...Array<string>(15).fill('tray'),
      ...Array<string>(15).fill('seating'),
    ]);
    expect(leaves.map(({ index }) => index)).toEqual(leaves.map((_, at) => at));
    for (const leaf of leaves) expect(sealLeaf.parse(leaf)).toEqual(leaf);
    expect(new Set(leaves.map(({ nonce }) => nonce)).size).toBe(33);
    expect(leaves[0]?.body).toEqual(SETTINGS);
    const byId = (a: { id?: unknown }, b: { id?: unknown }) => `${a.id}`.localeCompare(`${b.id}`);
    expect(
      kindOf(leaves, 'sample')
        .map(({ body }) => body)
        .sort(byId),
    ).toEqual([...SAMPLES].sort(byId));
    const trays = given.plan.seats.flatMap((seat) => seat.trays);
    const expected = trays.map(({ id, part, replicate, servings }) => ({
      id,
      part,
      replicate,
      servings: servings.map(({ position, code, sampleId, mark }) => ({ position, code, sampleId, mark })),
    }));
    expect(
      kindOf(leaves, 'tray')
        .map(({ body }) => body)
        .sort(byId),
    ).toEqual(expected.sort(byId));
    const seatOf = new Map(kindOf(leaves, 'seating').map(({ body }) => [body.trayId, body.seat]));
    for (const seat of given.plan.seats)
      for (const { id } of seat.trays) expect(seatOf.get(id)).toBe(seat.number);
  });

  test('does not verify with any one character of any leaf changed', () => {
    const { root, leaves } = sealOf(2, 1);
    const text = JSON.stringify(leaves);
    const honest = canonicalJson(leaves);
    let read = 0;
    for (let at = 0; at < text.length; at++) {
      const other = parsed<SealLeaf[]>(bent(text, at));
      if (other === null || canonicalJson(other) === honest) continue;
      read += 1;
      expect(
        verifySeal({ leaves: other, root }),
        `character ${at}: ${text.slice(at - 20, at + 20)}`,
      ).toMatchObject({
        ok: false,
      });
    }
    // Most changes leave readable JSON: what was tested is nearly all of the text.
    expect(read / text.length).toBeGreaterThan(0.7);
    for (let at = 0; at < 64; at++)
      expect(verifySeal({ leaves, root: bentHex(root, at) })).toMatchObject({ ok: false });
    expect(verifySeal({ leaves, root: '' })).toMatchObject({ ok: false });
  });

  test('does not prove a tray with any one character of tray, proof or root changed', () => {
    const { root, leaves } = sealOf(2, 2);
    const size = leaves.length;
    const leaf = kindOf(leaves, 'tray')[1] as SealLeaf;
    const proof = proveLeaf(leaves, leaf.index);
    const honest = { leaf, size, proof, root };
    expect(verifyLeaf(honest)).toBe(true);
    const text = JSON.stringify(leaf);
    for (let at = 0; at < text.length; at++) {
      const other = parsed<SealLeaf>(bent(text, at));
      if (other === null || canonicalJson(other) === canonicalJson(leaf)) continue;
      expect(verifyLeaf({ ...honest, leaf: other }), `character ${at}`).toBe(false);
    }
    proof.forEach((step, which) => {
      for (let at = 0; at < 64; at++) {
        expect(verifyLeaf({ ...honest, proof: proof.with(which, bentHex(step, at)) })).toBe(false);
      }
    });
    for (let at = 0; at < 64; at++) expect(verifyLeaf({ ...honest, root: bentHex(root, at) })).toBe(false);
    for (const bad of [proof.slice(1), proof.slice(0, -1), [...proof, root], proof.toReversed(), []]) {
      expect(verifyLeaf({ ...honest, proof: bad })).toBe(false);
    }
    expect(verifyLeaf({ ...honest, proof: proof.with(0, 'no hex') })).toBe(false);
    expect(verifyLeaf({ ...honest, size: size + 32 })).toBe(false);
    for (const other of leaves) {
      if (other !== leaf)
        expect(verifyLeaf({ ...honest, leaf: { ...other, index: leaf.index } })).toBe(false);
    }
  });

  test('does not verify with trays or codes swapped, or a leaf missing, doubled or added', () => {
    fc.assert(
      fc.property(
        sizes.filter(({ seats }) => seats > 1),
        fc.nat(),
        ({ seats, replicates, number }, pick) => {
          const { root, leaves } = sealOf(seats, replicates, number);
          const [one, two] = kindOf(leaves, 'tray') as [SealLeaf, SealLeaf];
          const refused = (changed: readonly SealLeaf[]) =>
            expect(verifySeal({ leaves: changed, root }).ok).toBe(false);
          const numbered = (list: readonly SealLeaf[]) => list.map((leaf, index) => ({ ...leaf, index }));

          refused(
            leaves
              .with(one.index, { ...two, index: one.index })
              .with(two.index, { ...one, index: two.index }),
          );
          refused(
            leaves.with(one.index, { ...one, body: two.body }).with(two.index, { ...two, body: one.body }),
          );
          const [a, b] = kindOf(leaves, 'seating') as [SealLeaf, SealLeaf];
          refused(leaves.with(a.index, { ...a, body: { ...a.body, trayId: b.body.trayId } }));

          const cups = one.body.servings as { position: number; code: string; sampleId: string }[];
          const [first, second, third] = cups as [(typeof cups)[0], (typeof cups)[0], (typeof cups)[0]];
          const recoded = [{ ...first, code: second.code }, { ...second, code: first.code }, third];
          refused(leaves.with(one.index, { ...one, body: { ...one.body, servings: recoded } }));

          const at = pick % leaves.length;
          const missing = leaves.filter(({ index }) => index !== at);
          refused(missing);
          refused(numbered(missing));
          const doubled = [...leaves, leaves[at] as SealLeaf];
          refused(doubled);
          refused(numbered(doubled));
          refused([]);
          // A gap is refused; without its last leaf a seal looks like a smaller one, whose proofs then fail.
          if (at < missing.length) expect(() => proveLeaf(missing, 0)).toThrow(RangeError);
          else {
            const proof = proveLeaf(missing, 0);
            expect(verifyLeaf({ leaf: leaves[0] as SealLeaf, size: missing.length, proof, root })).toBe(
              false,
            );
            expect(verifyLeaf({ leaf: leaves[0] as SealLeaf, size: leaves.length, proof, root })).toBe(false);
          }
          expect(() => proveLeaf(doubled, 0)).toThrow(RangeError);
          expect(() => proveLeaf(leaves, leaves.length)).toThrow(RangeError);
        },
      ),
      { numRuns: 40 },
    );
  });

  test('says why it does not verify', () => {
    const { root, leaves } = sealOf(2, 1);
    expect(verifySeal({ leaves: leaves.slice(1), root })).toEqual({
      ok: false,
      reason: 'A leaf is missing or doubled.',
    });
    expect(verifySeal({ leaves: [], root: sha256Hex() })).toEqual({
      ok: false,
      reason: 'There are no leaves.',
    });
    const other = verifySeal({ leaves, root: 'ab'.repeat(32) });
    expect(other).toEqual({ ok: false, reason: expect.stringContaining(root) });
  });
});

describe('what a seal keeps to itself', () => {
  const seal = sealOf(6, 4);
  const opened = seal.leaves.filter(({ kind }) => kind === 'settings' || kind === 'tray');

  test('settings and trays can be proved without the seating, and hold no seat', () => {
    for (const leaf of opened) {
      const proof = proveLeaf(seal.leaves, leaf.index);
      expect(verifyLeaf({ leaf, size: seal.leaves.length, proof, root: seal.root })).toBe(true);
    }
    expect(JSON.stringify(opened)).not.toMatch(/seat/i);
    for (const { body } of opened.slice(1)) {
      expect(Object.keys(body).sort()).toEqual(['id', 'part', 'replicate', 'servings']);
      for (const cup of body.servings as object[]) {
        expect(Object.keys(cup).sort()).toEqual(['code', 'mark', 'position', 'sampleId']);
      }
    }
  });

  test('neither the order of trays nor that of seatings tells a seat', () => {
    const rounds = 1_500;
    const tray = new Array<number>(6).fill(0);
    const seating = new Array<number>(6).fill(0);
    const firstSample = [0, 0];
    let together = 0;
    const plan = input(6, 1).plan;
    for (let number = 0; number < rounds; number++) {
      const { leaves } = buildSeal({ ...input(6, 1), plan, random: seededRandom(seedOf(number)) });
      const firstTray = kindOf(leaves, 'tray')[0]?.body.id;
      const seat = plan.seats.findIndex(({ trays }) => trays[0]?.id === firstTray);
      tray[seat] = (tray[seat] ?? 0) + 1;
      const firstSeating = kindOf(leaves, 'seating')[0]?.body as { seat: number; trayId: string };
      seating[firstSeating.seat - 1] = (seating[firstSeating.seat - 1] ?? 0) + 1;
      if (firstSeating.trayId === firstTray) together += 1;
      const which = kindOf(leaves, 'sample')[0]?.body.id === 'maple' ? 0 : 1;
      firstSample[which] = (firstSample[which] ?? 0) + 1;
    }
    expect(chiSquare(tray)).toBeLessThan(UPPER_MILLIONTH[5]);
    expect(chiSquare(seating)).toBeLessThan(UPPER_MILLIONTH[5]);
    expect(chiSquare(firstSample)).toBeLessThan(UPPER_MILLIONTH[1]);
    expect(chiSquare([together, rounds - together], [1 / 6, 5 / 6])).toBeLessThan(UPPER_MILLIONTH[1]);
  });

  test('the same plan sealed with other nonces gives another root and no hash in common', () => {
    const given = input(3, 2);
    const [one, two] = [1, 2].map((number) =>
      buildSeal({ ...given, random: seededRandom(seedOf(number)) }),
    ) as [Seal, Seal];
    expect(one.root).not.toBe(two.root);
    const hashes = ({ leaves }: Seal) => leaves.flatMap(({ index }) => proveLeaf(leaves, index));
    const known = new Set(hashes(one));
    expect(hashes(two).filter((hash) => known.has(hash))).toEqual([]);
  });
});

describe('texts and prints', () => {
  test('a name is sealed in one spelling, and the other spelling is another seal', () => {
    const samples = [sample('maple', 'arm-1', 'Cafe\u0301'), SAMPLES[1] as SealedSample];
    const { root, leaves } = buildSeal({ ...input(1, 1), samples });
    const leaf = kindOf(leaves, 'sample').find(({ body }) => body.id === 'maple') as SealLeaf;
    expect(leaf.body.armName).toBe('Caf\u00e9');
    const respelled = leaves.with(leaf.index, { ...leaf, body: { ...leaf.body, armName: 'Cafe\u0301' } });
    expect(verifySeal({ leaves, root }).ok).toBe(true);
    expect(verifySeal({ leaves: respelled, root }).ok).toBe(false);
  });

  test('what is handed in can be changed afterwards without touching the seal', () => {
    const settings = { alpha: 0.05, nested: { beta: 0.1 } };
    const { root, leaves } = buildSeal({ ...input(1, 1), settings });
    settings.nested.beta = 0.2;
    expect(leaves[0]?.body).toEqual({ alpha: 0.05, nested: { beta: 0.1 } });
    expect(verifySeal({ leaves, root }).ok).toBe(true);
  });

  test.each<[string, Record<string, unknown>]>([
    ['undefined', { alpha: undefined }],
    ['NaN', { alpha: Number.NaN }],
    ['a date', { at: new Date(0) }],
  ])('settings with %s are not sealed', (_, settings) => {
    expect(() => buildSeal({ ...input(1, 1), settings })).toThrow(RangeError);
  });

  test('the fingerprint is the first twelve digits of the root in fours', () => {
    expect(fingerprint(`0123456789ab${'f'.repeat(52)}`)).toBe('0123·4567·89AB');
    const { root, fingerprint: print } = sealOf(2, 1);
    expect(print.replaceAll('·', '').toLowerCase()).toBe(root.slice(0, 12));
    for (const bad of ['', root.slice(1), `${root}0`, 'g'.repeat(64)])
      expect(() => fingerprint(bad)).toThrow(new RangeError('a root has 64 hex digits'));
  });
});
