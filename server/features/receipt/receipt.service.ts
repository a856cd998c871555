import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listAddressesOfSession } from '@oddglass/db/queries/publication.ts';
import { findPanel } from '@oddglass/db/queries/panel.ts';
import { findSeatByReceipt, withdrawSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import { tidyAnswers } from '@oddglass/shared/export/tidy.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { cupsIndex } from '@oddglass/shared/rules/parts.ts';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { ownAnswersUnderSeal } from '../../session-data/answer-seal.ts';
import { readOwnAnswers } from '../../session-data/session-input.ts';

/** What the holder of a receipt said, in words. */
export async function readReceipt(deps: Deps, seat: Seat): Promise<ReceiptView> {
  const session = await sessionOrProblem(deps.db, seat.sessionId);
  const [panel, { input, trays }, publishedAt, sealed] = await Promise.all([
    findPanel(deps.db, session.panelId),
    readOwnAnswers(deps.db, session, seat),
    listAddressesOfSession(deps.db, session.trialId, session.id),
    ownAnswersUnderSeal(deps.db, session, seat),
  ]);
  const numberOf = (part: number, replicate: number): number =>
    trays.find((tray) => tray.part === part && tray.replicate === replicate)?.number ?? 1;
  const { parts, title } = session.settings;
  return {
    title,
    state: session.state,
    demo: panel?.demo ?? false,
    heldOn: (session.openedAt ?? session.createdAt).toISOString().slice(0, 10),
    fingerprint: session.root ? fingerprint(session.root) : '',
    root: session.root ?? '',
    consent:
      seat.consentAt === null
        ? null
        : { rows: seat.consentRows ?? false, smallGroup: seat.consentSmallGroup ?? false },
    withdrawn: seat.withdrawnAt !== null,
    sealed,
    findings: (session.revealRecord?.parts ?? []).map(({ part, headline }) => ({ part, headline })),
    answers: tidyAnswers(input)
      .filter(({ question }) => question !== 'no answer')
      .map(({ part, kind, replicate, position, sample, arm, question, value, unit }) => ({
        part,
        kind,
        trayNumber: numberOf(cupsIndex(parts, part - 1) + 1, replicate),
        position,
        sample,
        arm,
        question,
        value,
        unit,
      })),
    comments: input.trays.flatMap((tray) =>
      tray.ballots
        .filter(({ comment }) => comment !== '')
        .map(({ part, comment }) => ({
          part,
          trayNumber: numberOf(tray.part, tray.replicate),
          text: comment,
        })),
    ),
    publishedAt,
  };
}

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
