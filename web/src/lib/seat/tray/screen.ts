import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { SheetStep } from './draft.ts';
import { isAtHost, sheetKey } from './sheets.ts';

/** How far somebody has come in: to the code, to the free seats, to a seat; or out of it again. */
export type Door = 'opening' | 'code' | 'seats' | 'seated' | 'lost' | 'no-network';
export type Screen =
  Exclude<Door, 'seated'> | 'storage' | 'waiting' | 'cautions' | SheetStep | 'rest' | 'finished' | 'closed';

export interface Standing {
  /** The device refuses to store, and nobody has said to go on nevertheless. */
  storageRefused: boolean;
  door: Door;
  view: SeatView | null;
  resting: boolean;
  /** Step of the sheet in hand; null when there is none in hand. */
  step: SheetStep | null;
  /** Some sheet has no answer yet, neither here nor at the host. */
  unanswered: boolean;
}

/** The one screen to show. */
export function screenOf({ storageRefused, door, view, resting, step, unanswered }: Standing): Screen {
  if (storageRefused) return 'storage';
  if (door !== 'seated') return door;
  if (!view) return 'opening';
  const { session, cautionsConfirmedAt, trays } = view;
  if (session.state === 'closed' || session.state === 'revealed') {
    const all = trays.every(({ sheets }) => sheets.every(isAtHost));
    return all ? 'finished' : 'closed';
  }
  // The server takes a confirmation only while the tasting is open, so waiting comes first.
  if (session.state !== 'open') return 'waiting';
  if (cautionsConfirmedAt === null) return 'cautions';
  if (resting) return 'rest';
  return step ?? (unanswered ? 'opening' : 'finished');
}

/** The view with a ballot the host has acknowledged. */
export function withReceipt(view: SeatView, receipt: BallotReceipt): SeatView {
  return withBallots(view, new Map([[sheetKey(receipt), receipt]]));
}

/** A fresh view, with receipts that came while it was on its way: an acknowledged ballot does not go away again. */
export function withKnownReceipts(fresh: SeatView, before: SeatView | null): SeatView {
  const known = (before?.trays ?? []).flatMap(({ sheets }) =>
    sheets.flatMap(({ ballot }) => (ballot ? [[sheetKey(ballot), ballot] as const] : [])),
  );
  const missing = known.filter(([key]) => !receiptsOf(fresh).has(key));
  return withBallots(fresh, new Map(missing));
}

function withBallots(view: SeatView, ballots: ReadonlyMap<string, BallotReceipt>): SeatView {
  if (ballots.size === 0) return view;
  return {
    ...view,
    trays: view.trays.map((tray) => ({
      ...tray,
      sheets: tray.sheets.map((sheet) => {
        const ballot = ballots.get(sheetKey({ trayId: tray.id, part: sheet.part, sheet: sheet.sheet }));
        return ballot ? { ...sheet, ballot } : sheet;
      }),
    })),
  };
}

/** Sheets the host has an answer for, by `sheetKey`. */
export function receiptsOf(view: SeatView): Set<string> {
  return new Set(
    view.trays.flatMap(({ id, sheets }) =>
      sheets.filter(isAtHost).map(({ part, sheet }) => sheetKey({ trayId: id, part, sheet })),
    ),
  );
}

/** Answers counted: sheets in all, those the host has, and trays with every sheet answered, here or there. */
export function countsOf(
  view: SeatView,
  keptKeys: ReadonlySet<string>,
): { sheets: number; received: number; trays: number } {
  const received = receiptsOf(view);
  const keys = view.trays.map(({ id, sheets }) =>
    sheets.map(({ part, sheet }) => sheetKey({ trayId: id, part, sheet })),
  );
  return {
    sheets: keys.flat().length,
    received: received.size,
    trays: keys.filter((list) => list.every((key) => received.has(key) || keptKeys.has(key))).length,
  };
}
