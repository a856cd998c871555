import { utf8ToBytes } from '@noble/hashes/utils.js';
import type { SealedAnswers } from '../contracts/answer-seal.ts';
import { shuffled, toHex, fromHex, type RandomSource } from '../ground/random.ts';
import { canonicalJson, normalised } from './canonical-json.ts';
import { inclusionProof, leafHash, merkleRoot, verifyInclusion } from './merkle.ts';

// Stands in every leaf, so that a leaf of the plan's seal cannot be taken for one.
const ANSWERS_FORMAT = 'oddglass-answers-1';

/** One ballot as it is sealed: everything of it that a result can stand on. */
export interface SealedBallot {
  id: string;
  trayId: string;
  part: number;
  sheet: number;
  answer: unknown;
  comment: string;
  swallowing: string | null;
}

/** A seat's leaf as it is kept: `nonce` (hex, 256 bits) is gone once its person has withdrawn. */
export interface AnswerLeaf {
  /** Place in the tree, from 0; drawn by chance. */
  index: number;
  seatId: string;
  nonce: string | null;
  /** Hash of the leaf, hex. */
  hash: string;
}

/** What is hashed of a seat: canonical JSON (RFC 8785) of its ballots in a fixed order, with a nonce. */
export function answerText(nonce: string, ballots: readonly SealedBallot[]): string {
  const inOrder = [...ballots]
    .sort((a, b) => (a.id < b.id ? -1 : 1))
    .map(({ id, trayId, part, sheet, answer, comment, swallowing }) => ({
      id,
      trayId,
      part,
      sheet,
      answer,
      comment,
      swallowing,
    }));
  return canonicalJson({ format: ANSWERS_FORMAT, nonce, ballots: normalised(inOrder) });
}

const hashOf = (nonce: string, ballots: readonly SealedBallot[]): string =>
  toHex(leafHash(utf8ToBytes(answerText(nonce, ballots))));

/**
 * Seals what every seat answered under one root (hex): a leaf for each seat that answered anything, in an order drawn by
 * chance, with a nonce of its own, so that neither the place nor the hash tells who answered what.
 * Source: RFC 9162 section 2.1 (tree), RFC 8785 (text of a leaf).
 */
export function sealAnswers(
  seats: ReadonlyMap<string, readonly SealedBallot[]>,
  random: RandomSource,
): { root: string; leaves: AnswerLeaf[] } {
  const answered = [...seats].filter(([, ballots]) => ballots.length > 0);
  const leaves = shuffled(random, answered).map(([seatId, ballots], index) => {
    const nonce = toHex(random.bytes(32));
    return { index, seatId, nonce, hash: hashOf(nonce, ballots) };
  });
  return { root: rootOf(leaves), leaves };
}

const inTree = (leaves: readonly AnswerLeaf[]): Uint8Array[] =>
  [...leaves].sort((a, b) => a.index - b.index).map(({ hash }) => fromHex(hash));

const rootOf = (leaves: readonly AnswerLeaf[]): string => toHex(merkleRoot(inTree(leaves)));

/** How answers stand beside what was sealed: `changed` seats have other ballots, `added` none that were sealed. */
export interface AnswersCheck {
  /** The leaves are those of the root. */
  rooted: boolean;
  changed: number;
  added: number;
}

export const answersIntact = ({ rooted, changed, added }: AnswersCheck): boolean =>
  rooted && changed === 0 && added === 0;

/**
 * Holds the ballots of today against the seal of the closing. Leaves without a nonce belong to people who withdrew: of them
 * nothing is left to compare, and a ballot of theirs counts as changed.
 */
export function checkAnswers(options: {
  root: string;
  leaves: readonly AnswerLeaf[];
  seats: ReadonlyMap<string, readonly SealedBallot[]>;
}): AnswersCheck {
  const { root, leaves, seats } = options;
  const changed = leaves.filter(({ seatId, nonce, hash }) => {
    const ballots = seats.get(seatId) ?? [];
    return nonce === null ? ballots.length > 0 : hashOf(nonce, ballots) !== hash;
  }).length;
  const sealed = new Set(leaves.map(({ seatId }) => seatId));
  const added = [...seats].filter(([id, ballots]) => ballots.length > 0 && !sealed.has(id)).length;
  return { rooted: rootOf(leaves) === root, changed, added };
}

/**
 * What the person of a seat needs to check their own leaf by themselves.
 * @throws RangeError when there is no leaf at `index`.
 */
export function proveAnswers(
  leaves: readonly AnswerLeaf[],
  { index, nonce }: Pick<AnswerLeaf, 'index'> & { nonce: string },
  ballots: readonly SealedBallot[],
): Omit<SealedAnswers, 'root'> {
  return {
    index,
    size: leaves.length,
    text: answerText(nonce, ballots),
    proof: inclusionProof(index, inTree(leaves)).map(toHex),
  };
}

/** Does the text lead to the root? False for anything malformed. */
export function verifyAnswers({ root, index, size, text, proof }: SealedAnswers): boolean {
  try {
    return verifyInclusion({
      index,
      size,
      leafHash: leafHash(utf8ToBytes(text)),
      proof: proof.map(fromHex),
      root: fromHex(root),
    });
  } catch {
    return false;
  }
}
