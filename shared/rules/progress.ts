import type { Progress, Step } from '../contracts/seat.ts';

const STEPS: readonly Step[] = [
  'tasting',
  'choosing',
  'answering',
  'describing',
  'reviewing',
  'resting',
  'finished',
];

/** Place of a progress mark along the evening, tray by tray, sheet by sheet: later is larger. */
function place({ trayNumber, part, sheet, step, position }: Progress): number {
  const within = STEPS.indexOf(step) * 20 + (step === 'tasting' ? (position ?? 0) : 0);
  return ((trayNumber * 10 + part) * 100 + sheet) * 1000 + within;
}

/**
 * Does `next` move the seat on? A seat may step back within the tray in hand (to look at a choice or an
 * earlier cup again before sending), but never to an earlier tray, and a mark repeated says nothing new.
 */
export function isAhead(current: Progress | null, next: Progress): boolean {
  if (current === null) return true;
  if (next.trayNumber < current.trayNumber) return false;
  const sent = current.step === 'resting' || current.step === 'finished';
  if (next.trayNumber === current.trayNumber && sent) {
    return place(next) > place(current);
  }
  return place(next) !== place(current);
}
