import type { Seat } from '@oddglass/db/queries/seat.ts';
import type { Word } from '@oddglass/shared/contracts/seat.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { seededRandom, shuffled } from '@oddglass/shared/ground/random.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import { createHash } from 'node:crypto';

/** Words in an order of the seat's own: list order draws answers, and this spreads the pull. The same at every reading. */
export function wordsAtSeat(seat: Pick<Seat, 'id'>, vocabulary: Vocabulary): Word[] {
  const seed = new Uint8Array(createHash('sha256').update(`words ${seat.id}`).digest());
  return shuffled(seededRandom(seed), wordsForSeat(vocabulary));
}
