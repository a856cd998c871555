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

/** Along the evening, tray by tray, sheet by sheet: above 0 where the first mark is the later one, 0 where both say the same. */
function order(one: Progress, other: Progress): number {
  return (
    one.trayNumber - other.trayNumber ||
    one.part - other.part ||
    one.sheet - other.sheet ||
    STEPS.indexOf(one.step) - STEPS.indexOf(other.step) ||
    cupInHand(one) - cupInHand(other)
  );
}

const cupInHand = ({ step, position }: Progress): number => (step === 'tasting' ? (position ?? 0) : 0);

/**
 * Does `next` move the seat on? A seat may step back within the tray in hand (to look at a choice or an
 * earlier cup again before sending), but never to an earlier tray, and a mark repeated says nothing new.
 */
export function isAhead(current: Progress | null, next: Progress): boolean {
  if (current === null) return true;
  if (next.trayNumber < current.trayNumber) return false;
  const sent = current.step === 'resting' || current.step === 'finished';
  return sent ? order(next, current) > 0 : order(next, current) !== 0;
}
