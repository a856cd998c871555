import {
  insertAnswerLeaves,
  listAnswerLeaves,
  listBallotsBySeat,
  listBallotsOfSeat,
} from '@oddglass/db/queries/ballot.ts';
import type { Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SealedAnswers } from '@oddglass/shared/contracts/answer-seal.ts';
import {
  answersIntact,
  checkAnswers,
  proveAnswers,
  sealAnswers,
} from '@oddglass/shared/design/answer-seal.ts';
import type { RandomSource } from '@oddglass/shared/ground/random.ts';

/** Seals what every seat has answered; the root. To be called under the session's lock, as it closes. */
export async function sealAllAnswers(tx: Db, sessionId: string, random: RandomSource): Promise<string> {
  const { root, leaves } = sealAnswers(await listBallotsBySeat(tx, sessionId), random);
  await insertAnswerLeaves(tx, sessionId, leaves);
  return root;
}

/** How today's answers stand beside that seal; null where the session closed before there was one. */
export async function answersToday(
  db: Db,
  { id, answersRoot }: Pick<Session, 'id' | 'answersRoot'>,
): Promise<{ root: string; size: number; intact: boolean } | null> {
  if (answersRoot === null) return null;
  const [leaves, seats] = await Promise.all([listAnswerLeaves(db, id), listBallotsBySeat(db, id)]);
  const check = checkAnswers({ root: answersRoot, leaves, seats });
  return { root: answersRoot, size: leaves.length, intact: answersIntact(check) };
}

/** What the person of a seat needs to find their own answers under the seal; null where there is nothing to find. */
export async function ownAnswersUnderSeal(
  db: Db,
  { id, answersRoot }: Pick<Session, 'id' | 'answersRoot'>,
  seat: Seat,
): Promise<SealedAnswers | null> {
  if (answersRoot === null || seat.withdrawnAt !== null) return null;
  const leaves = await listAnswerLeaves(db, id);
  const own = leaves.find(({ seatId }) => seatId === seat.id);
  if (!own || own.nonce === null) return null;
  const { index, nonce } = own;
  const ballots = await listBallotsOfSeat(db, seat.id);
  return { root: answersRoot, ...proveAnswers(leaves, { index, nonce }, ballots) };
}
