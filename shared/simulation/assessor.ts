import { sha256 } from '@noble/hashes/sha2.js';
import { utf8ToBytes } from '@noble/hashes/utils.js';
import type { Simulation } from '../contracts/rehearsal.ts';
import { seededRandom } from '../ground/random.ts';
import { drawsOf, type Draws } from './draws.ts';

/** What one simulated assessor is like, whatever is asked. */
export interface Assessor {
  /** How high they set their marks, in standard deviations between people. */
  level: number;
  /** Answers after which they leave; null: they stay to the end. */
  leavesAfter: number | null;
}

/** The luck of one moment: the same seed and the same words give the same draws. */
export function drawsAt(seed: string, ...at: readonly (string | number)[]): Draws {
  return drawsOf(seededRandom(sha256(utf8ToBytes([seed, ...at].join('/')))));
}

/**
 * The assessor at a seat, from 1. Who leaves does so after a number of answers between the two that were set, each equally
 * likely, and before the last of the `sheets`; nobody who has answered everything has left.
 * Errors: none. A seed is 16 hex digits.
 */
export function assessorAt(
  { seed, leaving }: Pick<Simulation, 'seed' | 'leaving'>,
  seat: number,
  sheets: number,
): Assessor {
  const draws = drawsAt(seed, 'assessor', seat);
  const level = draws.normal();
  if (!draws.chance(leaving.share)) return { level, leavesAfter: null };
  const latest = Math.max(0, sheets - 1);
  const from = Math.min(leaving.from, latest);
  return { level, leavesAfter: draws.whole(from, Math.min(leaving.to, latest)) };
}
