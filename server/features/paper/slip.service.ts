import { listSeats, renewReceipt } from '@oddglass/db/queries/seat.ts';
import { findSessionsByRoot } from '@oddglass/db/queries/session.ts';
import type { PaperReceipt, PaperReceiptInput } from '@oddglass/shared/contracts/paper.ts';
import { readBallotNumber } from '@oddglass/shared/paper/ballot-number.ts';
import { hashToken, newToken } from '../../access/tokens.ts';
import { inSession, type Deps } from '../../deps.ts';
import { networkOf } from '../../guard/attempts.ts';
import { problem } from '../../refusal/problem.ts';
import { slipHashOf } from './entry.service.ts';

/**
 * A receipt for whoever brings the slip of a ballot on paper and knows the six digits that they wrote on both. The receipt
 * before it ends. Guesses are counted for the ballot and for the network.
 */
export async function receiptBySlip(
  deps: Deps,
  from: string,
  { ballot, digits, fingerprint }: PaperReceiptInput,
): Promise<PaperReceipt> {
  const find = async (): Promise<PaperReceipt> => {
    const [session, other] = await findSessionsByRoot(deps.db, fingerprint);
    if (!session?.root || other) throw problem('paper-receipt-refused');
    const { root } = session;
    const read = readBallotNumber(ballot, root);
    if ('trouble' in read) throw problem('paper-receipt-refused', { detail: read.trouble });
    const receiptToken = newToken(deps.random);
    await inSession(deps, session.id, async (tx) => {
      const seat = (await listSeats(tx, session.id)).find(({ number }) => number === read.seat);
      if (!seat || seat.slipHash === null || seat.slipHash !== slipHashOf(seat.id, digits))
        throw problem('paper-receipt-refused');
      await renewReceipt(tx, seat.id, hashToken(receiptToken));
    });
    return { receiptToken, root };
  };
  return deps.limits.slip.attempt(`${fingerprint.slice(0, 12)} ${ballot}`, () =>
    deps.limits.link.attempt(networkOf(from), find),
  );
}
