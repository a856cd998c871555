import type { TrialPulls } from '../contracts/pull.ts';
import type { ReadingView } from '../contracts/reading.ts';
import { csvText, type Cell } from '../export/csv.ts';
import { inOrder } from './due.ts';

/** Columns of the notebook as CSV. The first group is what is read back; the second is worked out from it. */
export const TYPED_COLUMNS = [
  'pull',
  'planned',
  'pull_ml',
  'pull_note',
  'arm',
  'taken_at',
  'ph',
  'meter_calibrated_on',
  'gravity',
  'gravity_unit',
  'instrument',
  'sample_c',
  'hydrometer_c',
  'original_brix',
  'wort_factor',
  'temperature',
  'temperature_unit',
  'taken',
  'taken_unit',
  'added',
  'looks',
  'smell',
  'note',
  'confirmed',
] as const;
export type TypedColumn = (typeof TYPED_COLUMNS)[number];
export const WORKED_OUT_COLUMNS = [
  'gravity_sg',
  'temperature_c',
  'taken_ml',
  'written_by',
  'written_at',
] as const;

// What csvText defuses gets an apostrophe; a text that has one of its own before such a sign gets one more here, so that
// taking one away gives the text that was written.
const DEFUSED = /^'+[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/;
const guarded = (text: string): string => (DEFUSED.test(text) ? `'${text}` : text);

/** The text as it was written: what `readingsCsv` put before a formula sign is taken away. */
export const unguarded = (text: string): string => (DEFUSED.test(text) ? text.slice(1) : text);

/**
 * The readings of a trial that count, as CSV: what was typed with its units, then what it comes to. Readings that were
 * corrected are left out. `previewImport` reads it back into the same readings.
 * Source: RFC 4180 by `export/csv.ts`.
 * Example: `readingsCsv({ pitchedAt: null, arms: [], pulls: [] }).length` is 283
 */
export function readingsCsv(trial: Pick<TrialPulls, 'pitchedAt' | 'arms' | 'pulls'>): string {
  const rows = inOrder(trial.pulls, trial.pitchedAt).flatMap((pull) =>
    trial.arms.flatMap((arm) =>
      pull.readings
        .filter((reading) => reading.arm === arm.id && reading.current)
        .map((reading) => ({
          pull: guarded(pull.name),
          planned: plannedText(pull.when),
          pull_ml: pull.mlPerArm,
          pull_note: guarded(pull.note),
          arm: guarded(arm.name),
          ...cellsOf(reading),
        })),
    ),
  );
  return csvText(rows, [...TYPED_COLUMNS, ...WORKED_OUT_COLUMNS]);
}

function plannedText(when: TrialPulls['pulls'][number]['when']): string {
  if (when.kind === 'hours') return `${when.hours} h`;
  return when.kind === 'day' ? when.on : '';
}

function cellsOf(reading: ReadingView): Record<string, Cell> {
  const { ph, gravity, temperature, taken } = reading.typed;
  return {
    taken_at: reading.takenAt,
    ph: guarded(ph?.text ?? ''),
    meter_calibrated_on: ph?.meterCalibratedOn ?? null,
    gravity: guarded(gravity?.text ?? ''),
    gravity_unit: gravity?.unit ?? null,
    instrument: gravity?.instrument ?? null,
    sample_c: gravity?.sampleC ?? null,
    hydrometer_c: gravity?.calibratedAtC ?? null,
    original_brix: gravity?.originalBrix ?? null,
    wort_factor: gravity?.wortFactor ?? null,
    temperature: guarded(temperature?.text ?? ''),
    temperature_unit: temperature?.unit ?? null,
    taken: guarded(taken?.text ?? ''),
    taken_unit: taken?.unit ?? null,
    added: guarded(reading.added),
    looks: guarded(reading.looks),
    smell: guarded(reading.smell),
    note: guarded(reading.note),
    confirmed: reading.confirmed.length === 0 ? null : JSON.stringify(reading.confirmed),
    gravity_sg: reading.gravity,
    temperature_c: reading.temperatureC,
    taken_ml: reading.takenMl,
    written_by: guarded(reading.writtenBy),
    written_at: reading.writtenAt,
  };
}
