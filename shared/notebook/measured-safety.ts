import type { ReadingView } from '../contracts/reading.ts';
import type { SafetyView } from '../contracts/safety.ts';
import { gravityFalling } from './falling-gravity.ts';
import { readingsOf } from './last-reading.ts';

export interface MeasuredSafety {
  /** What was noted, with the pH and the gravity that are newer in the notebook; null: nobody has looked. */
  facts: SafetyView | null;
  /** When the newest thing in them was written. */
  asOf: string | null;
}

/** A pH below this is a slip of the meter or of the hand, and nobody may taste because of it. Our own bound; no source. */
export const MIN_PH = 2;

type Row = Pick<
  ReadingView,
  'arm' | 'current' | 'takenAt' | 'writtenAt' | 'ph' | 'meterCalibratedOn' | 'gravity'
>;

/**
 * What is known of an arm before it is tasted: what somebody noted, or what was read of it where that is newer. A pH is as
 * old as its sample, of one day the one written last counts, without a calibration day it is not known, and below pH 2 it
 * is taken for a slip and not known either. Gravity falls by `gravityFalling`; too few pulls leave what was noted. A look
 * for mould stays as old as the look. Where nobody looked, readings alone open nothing.
 * Example: `Number(measuredSafety(null, [], 'a').facts !== null)` is 0
 */
export function measuredSafety(
  noted: SafetyView | null,
  readings: readonly Row[],
  arm: string,
): MeasuredSafety {
  if (noted === null) return { facts: null, asOf: null };
  const read = readingsOf(readings, arm);
  let facts = noted;
  let asOf = noted.writtenAt;
  const later = (moment: string): void => {
    if (Date.parse(moment) > Date.parse(asOf)) asOf = moment;
  };
  const withPh = read.findLast(({ ph }) => ph !== null);
  if (withPh && isNewer(withPh, noted)) {
    const { ph, meterCalibratedOn, takenAt, writtenAt } = withPh;
    facts = {
      ...facts,
      ph: ph !== null && ph >= MIN_PH ? Math.min(ph, 14) : null,
      phOn: takenAt.slice(0, 10),
      meterCalibratedOn,
    };
    later(writtenAt);
  }
  const withGravity = read.findLast(({ gravity }) => gravity !== null);
  const falling = gravityFalling(readings, arm);
  if (withGravity && falling !== null && Date.parse(withGravity.takenAt) > Date.parse(noted.writtenAt)) {
    facts = { ...facts, gravityFalling: falling };
    later(withGravity.writtenAt);
  }
  return { facts, asOf };
}

function isNewer({ takenAt, writtenAt }: Row, noted: SafetyView): boolean {
  if (noted.ph === null || noted.phOn === null) return true;
  const day = takenAt.slice(0, 10);
  if (day !== noted.phOn) return day > noted.phOn;
  return Date.parse(writtenAt) >= Date.parse(noted.writtenAt);
}
