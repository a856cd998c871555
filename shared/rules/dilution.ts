/**
 * measured: somebody noted what went into which volume. checked: another person confirmed it. alone: nobody else has the key.
 * others-absent: others have the key, and none of them is there.
 */
export type DilutionStepKind = 'measured' | 'checked' | 'alone' | 'others-absent';

/** One record of a spiked bottle. Records are only ever added. */
export interface DilutionStep {
  /** Rises with each record. */
  id: number;
  kind: DilutionStepKind;
  /** The measurement it is about; null for a measurement. */
  measurement: number | null;
}

/** checked: a second person confirmed each batch that was gone on with. alone: at least one went on without. */
export type DilutionCheck = 'checked' | 'alone' | 'unrecorded';

/** The newest measurement, which is the one in the jug, and what it was gone on with; null where there is none yet. */
export function dilutionInHand<Step extends DilutionStep>(
  steps: readonly Step[],
): { measured: Step; settled: Step | null } | null {
  const measured = steps
    .filter(({ kind }) => kind === 'measured')
    .reduce<Step | null>((newest, one) => (newest && newest.id > one.id ? newest : one), null);
  if (!measured) return null;
  const settled = steps.find(({ measurement }) => measurement === measured.id) ?? null;
  return { measured, settled };
}

/** May cups of the bottle be poured? A new batch has to be checked like the first. */
export function mayPourDilution(steps: readonly DilutionStep[]): boolean {
  return (dilutionInHand(steps)?.settled ?? null) !== null;
}

/** What a result has to say of the bottle. */
export function dilutionCheck(steps: readonly DilutionStep[]): DilutionCheck {
  if (steps.some(({ kind }) => kind === 'alone' || kind === 'others-absent')) return 'alone';
  return steps.some(({ kind }) => kind === 'checked') ? 'checked' : 'unrecorded';
}
