import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { readDraft, removeDraft, writeDraft } from './device-store.ts';
import { toBallot, type Draft } from '#lib/seat/tray/draft.ts';
import type { KeptBallot } from './outbox.ts';
import { draftInHand, type Hand } from '#lib/seat/tray/sheet-in-hand.ts';
import { askedAt, nameOfSheet, placeOf, type Asked } from '#lib/seat/tray/sheets.ts';

/** Drafts this device kept for these sheets, in their order; null where there is none or the device refuses. */
export const keptDrafts = (asked: readonly Asked[]): Promise<(Draft | null)[]> =>
  Promise.all(asked.map((one) => readDraft(placeOf(one)).catch(() => null)));

/** Writes what changed from one hand to the next. Of sheets not begun nothing needs keeping. */
export async function keepChanges(before: Hand | null, hand: Hand): Promise<void> {
  const current = draftInHand(hand);
  const changed = hand.drafts.filter((one) => (before ? !before.drafts.includes(one) : one === current));
  await Promise.all(changed.map(writeDraft));
}

/** A draft that was sent, or answered elsewhere. One that stays on a failing disk does no harm: its sheet has a ballot. */
export function dropDraft(draft: Draft): void {
  void removeDraft(draft).catch(() => undefined);
}

/** The sheets in hand as ballots to be kept until the host has them. Throws when one of them is not whole. */
export function ballotsOf(view: SeatView, hand: Hand, seatToken: string, now: number): KeptBallot[] {
  return hand.drafts.flatMap((draft) => {
    const asked = askedAt(view, draft);
    if (!asked) return [];
    return [
      {
        ballot: toBallot(draft, asked),
        seatToken,
        seat: view.seat,
        trayNumber: draft.trayNumber,
        name: nameOfSheet(view.session, asked),
        title: view.session.title,
        keptAt: now,
        state: 'waiting',
        detail: '',
      },
    ];
  });
}
