import type { BallotReceipt } from '@oddglass/shared/contracts/ballot.ts';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { TrayStep } from './tray-in-hand.ts';

/** How far somebody has come in: to the code, to the free seats, to a seat; or out of it again. */
export type Door = 'opening' | 'code' | 'seats' | 'seated' | 'lost' | 'no-network';
export type Screen =
  Exclude<Door, 'seated'> | 'storage' | 'waiting' | 'cautions' | TrayStep | 'rest' | 'finished' | 'closed';

export interface Standing {
  /** The device refuses to store, and nobody has said to go on nevertheless. */
  storageRefused: boolean;
  door: Door;
  view: SeatView | null;
  resting: boolean;
  /** Step of the tray in hand; null when there is none in hand. */
  step: TrayStep | null;
  /** Some tray has no answer yet, neither here nor at the host. */
  unanswered: boolean;
}

/** The one screen to show. */
export function screenOf({ storageRefused, door, view, resting, step, unanswered }: Standing): Screen {
  if (storageRefused) return 'storage';
  if (door !== 'seated') return door;
  if (!view) return 'opening';
  const { session, cautionsConfirmedAt, trays } = view;
  if (session.state === 'closed' || session.state === 'revealed') {
    return trays.every(({ ballot }) => ballot !== null) ? 'finished' : 'closed';
  }
  // The server takes a confirmation only while the tasting is open, so waiting comes first.
  if (session.state !== 'open') return 'waiting';
  if (cautionsConfirmedAt === null) return 'cautions';
  if (resting) return 'rest';
  return step ?? (unanswered ? 'opening' : 'finished');
}

/** The view with a ballot the host has acknowledged. */
export function withReceipt(view: SeatView, receipt: BallotReceipt): SeatView {
  return {
    ...view,
    trays: view.trays.map((tray) => (tray.id === receipt.trayId ? { ...tray, ballot: receipt } : tray)),
  };
}

/** A fresh view, with receipts that came while it was on its way: an acknowledged ballot does not go away again. */
export function withKnownReceipts(fresh: SeatView, before: SeatView | null): SeatView {
  return {
    ...fresh,
    trays: fresh.trays.map((tray) => ({
      ...tray,
      ballot: tray.ballot ?? before?.trays.find(({ id }) => id === tray.id)?.ballot ?? null,
    })),
  };
}
