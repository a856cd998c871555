import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  answerText,
  answersIntact,
  checkAnswers,
  proveAnswers,
  sealAnswers,
  verifyAnswers,
  type SealedBallot,
} from '@oddglass/shared/design/answer-seal.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { seedOf } from './chance.ts';
import { plainRoot } from './plain-tree.ts';

const ballot = (seat: number, sheet: number, chosen = '417'): SealedBallot => ({
  id: `${seat}-${sheet}`,
  trayId: `tray ${seat}`,
  part: 1,
  sheet,
  answer: { kind: 'choice', chosen: [chosen], confidence: null, descriptors: [] },
  comment: '',
  swallowing: null,
});

/** So many seats with two ballots each, and one more that answered nothing. */
function table(seats: number): Map<string, SealedBallot[]> {
  const answers = new Map<string, SealedBallot[]>([['silent', []]]);
  for (let at = 0; at < seats; at++) answers.set(`seat ${at}`, [ballot(at, 1), ballot(at, 2)]);
  return answers;
}

test('the root is that of RFC 9162 over the texts of the leaves, whatever the number of seats', () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 40 }), fc.integer(), (seats, seed) => {
      const answers = table(seats);
      const { root, leaves } = sealAnswers(answers, seededRandom(seedOf(seed)));
      expect(leaves.map(({ index }) => index)).toEqual(Array.from({ length: seats }, (_, at) => at));
      const texts = leaves.map(({ seatId, nonce }) => answerText(nonce!, answers.get(seatId)!));
      expect(root).toBe(plainRoot(texts.map((text) => Buffer.from(text, 'utf8'))));
      expect(new Set(leaves.map(({ nonce }) => nonce)).size).toBe(seats);
    }),
  );
});

test('every seat finds its own answers under the root, and no others', () => {
  for (const seats of [1, 2, 3, 7, 24]) {
    const answers = table(seats);
    const { root, leaves } = sealAnswers(answers, seededRandom(seedOf(seats)));
    for (const { seatId, index, nonce } of leaves) {
      const own = answers.get(seatId)!;
      const proof = { root, ...proveAnswers(leaves, { index, nonce: nonce! }, own) };
      expect(verifyAnswers(proof)).toBe(true);
      const other = [ballot(99, 1), ...own.slice(1)];
      expect(verifyAnswers({ ...proof, text: answerText(nonce!, other) })).toBe(false);
      expect(verifyAnswers({ ...proof, root: 'f'.repeat(64) })).toBe(false);
      if (seats > 1) expect(verifyAnswers({ ...proof, index: (index + 1) % seats })).toBe(false);
      expect(verifyAnswers({ ...proof, proof: ['zz'] })).toBe(false);
    }
  }
});

test('the order of ballots and of keys says nothing; every word of them counts', () => {
  const [first, second] = [ballot(1, 1), ballot(1, 2)];
  const turned = Object.fromEntries(Object.entries(first).reverse()) as unknown as SealedBallot;
  expect(answerText('n', [second, turned])).toBe(answerText('n', [first, second]));
  const changes: Partial<SealedBallot>[] = [
    { id: 'x' },
    { trayId: 'x' },
    { part: 2 },
    { sheet: 3 },
    { answer: { ...(first.answer as object), chosen: ['418'] } },
    { comment: 'x' },
    { swallowing: 'spat' },
  ];
  for (const change of changes)
    expect(answerText('n', [{ ...first, ...change }])).not.toBe(answerText('n', [first]));
});

test('what is changed, added or deleted after the seal is found; a person who withdrew is not missed', () => {
  const sealed = sealAnswers(table(5), seededRandom(seedOf(5)));
  const check = (seats: Map<string, SealedBallot[]>, leaves = sealed.leaves, root = sealed.root) =>
    checkAnswers({ root, leaves, seats });
  const intact = { rooted: true, changed: 0, added: 0 };
  expect(check(table(5))).toEqual(intact);
  expect(answersIntact(check(table(5)))).toBe(true);

  const flipped = table(5).set('seat 2', [ballot(2, 1, '905'), ballot(2, 2)]);
  expect(check(flipped)).toEqual({ ...intact, changed: 1 });
  const deleted = table(5);
  deleted.delete('seat 3');
  expect(check(deleted)).toEqual({ ...intact, changed: 1 });
  expect(check(table(5).set('seat 3', [ballot(3, 1)]))).toEqual({ ...intact, changed: 1 });
  expect(check(table(5).set('silent', [ballot(9, 1)]))).toEqual({ ...intact, added: 1 });
  expect(check(table(6))).toEqual({ ...intact, added: 1 });

  // Somebody who takes answers back: the nonce goes with them, the hash stays.
  const left = sealed.leaves.map((leaf) => (leaf.seatId === 'seat 4' ? { ...leaf, nonce: null } : leaf));
  const without = table(5);
  without.set('seat 4', []);
  expect(check(without, left)).toEqual(intact);
  expect(check(table(5), left)).toEqual({ ...intact, changed: 1 });

  // Leaves that were made anew to fit lead to another root.
  const anew = sealAnswers(flipped, seededRandom(seedOf(6)));
  expect(check(flipped, anew.leaves)).toEqual({ ...intact, rooted: false });
  const fewer = sealed.leaves.filter(({ seatId }) => seatId !== 'seat 3');
  expect(answersIntact(check(deleted, fewer))).toBe(false);
});
