import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findSeatByReceipt, withdrawSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { readReceipt } from './receipt.service.ts';

/**
 * Takes the answers of a seat back, for good: the ballots are deleted, results count anew, and the next version of a
 * publication is without them. Doing it twice is doing it once.
 */
export async function withdrawAnswers(deps: Deps, seat: Seat): Promise<ReceiptView> {
  await inSession(deps, seat.sessionId, async (tx, session) => {
    const now = deps.clock();
    if (!(await withdrawSeat(tx, seat.id, now))) return;
    // Past the reveal a host could compare results before and after, and read what the seat had said.
    const told = session.state === 'revealed' ? null : seat.number;
    await appendEvent(tx, session.id, { kind: 'seat-withdrawn', seat: told }, now);
  });
  const current = seat.receiptHash ? await findSeatByReceipt(deps.db, seat.receiptHash) : undefined;
  if (!current) throw problem('receipt-unknown');
  return readReceipt(deps, current);
}
