import { listAddressesOfSession } from '@oddglass/db/queries/publication.ts';
import { findPanel } from '@oddglass/db/queries/panel.ts';
import type { Seat } from '@oddglass/db/queries/seat.ts';
import { tidyAnswers } from '@oddglass/shared/export/tidy.ts';
import type { ReceiptView } from '@oddglass/shared/contracts/receipt.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { cupsIndex } from '@oddglass/shared/rules/parts.ts';
import { sessionOrProblem, type Deps } from '../../deps.ts';
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
    rehearsal: session.rehearsal !== null,
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
