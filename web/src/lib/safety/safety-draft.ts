import type { SafetyFacts, SafetyView } from '@oddglass/shared/contracts/safety.ts';
import { LOOK_HOURS } from '@oddglass/shared/rules/safety-gate.ts';

export type Told = 'yes' | 'no' | 'unknown';

/** The form's state: what people tick and type. */
export interface SafetyDraft {
  mould: Told;
  hopped: Told;
  stoodWarm: Told;
  gravityFalling: Told;
  pitchedOn: string;
  ph: string;
  phOn: string;
  meterCalibratedOn: string;
}

const asTold = (value: boolean | null): Told => (value === null ? 'unknown' : value ? 'yes' : 'no');
const fromTold = (told: Told): boolean | null => (told === 'unknown' ? null : told === 'yes');

/**
 * A form that starts from what was last noted. A look for mould does not carry over to another day: who looks again says so.
 */
export function draftOf(known: SafetyView | null, today: string, now: Date): SafetyDraft {
  const fresh = known !== null && now.getTime() - Date.parse(known.writtenAt) <= LOOK_HOURS * 3_600_000;
  return {
    mould: fresh ? asTold(known.mould) : 'unknown',
    hopped: asTold(known?.hopped ?? null),
    stoodWarm: asTold(known?.stoodWarm ?? null),
    gravityFalling: asTold(known?.gravityFalling ?? null),
    pitchedOn: known?.pitchedOn ?? '',
    ph: String(known?.ph ?? ''),
    phOn: known?.phOn ?? today,
    meterCalibratedOn: known?.meterCalibratedOn ?? '',
  };
}

/** What is sent: a decimal comma is understood, days without a reading are left out. Not a number: NaN, which is refused. */
export function factsOf(draft: SafetyDraft): SafetyFacts {
  const typed = draft.ph.trim().replace(',', '.');
  const ph = typed === '' ? null : Number(typed);
  return {
    mould: fromTold(draft.mould),
    hopped: fromTold(draft.hopped),
    stoodWarm: fromTold(draft.stoodWarm),
    gravityFalling: fromTold(draft.gravityFalling),
    pitchedOn: draft.pitchedOn || null,
    ph,
    phOn: ph === null ? null : draft.phOn || null,
    meterCalibratedOn: ph === null ? null : draft.meterCalibratedOn || null,
  };
}
