import type { PullInput } from '@oddglass/shared/contracts/pull.ts';
import type { TypedValues } from '@oddglass/shared/contracts/reading.ts';
import { trueGravity, truePh } from './truth.ts';

// Everything in this file is invented: what the notebook of the demo trial holds between the pitching and today.

/** How long before today the yeast went in: some hours before the evenings of the same day of the trial. */
export const DEMO_PITCHED = { daysAgo: 42, hoursBefore: 3 } as const;

/** Pulls by day of the trial. Those up to `DEMO_PITCHED.daysAgo` were taken; one is due within the week, and two lie ahead. */
export const DEMO_PULLS: (Pick<PullInput, 'name' | 'mlPerArm' | 'note'> & { day: number })[] = [
  { name: 'Day 1', day: 1, mlPerArm: 100, note: '' },
  { name: 'Day 3', day: 3, mlPerArm: 100, note: '' },
  { name: 'Day 7', day: 7, mlPerArm: 100, note: '' },
  { name: 'Day 14', day: 14, mlPerArm: 100, note: 'Twice the same gravity before anything is bottled.' },
  { name: 'Day 21', day: 21, mlPerArm: 100, note: '' },
  { name: 'Day 35', day: 35, mlPerArm: 100, note: '' },
  { name: 'Day 46', day: 46, mlPerArm: 100, note: '' },
  { name: 'Month two', day: 60, mlPerArm: 100, note: 'Does the ripe fruit fade?' },
  { name: 'Month three', day: 90, mlPerArm: 100, note: '' },
];

/** What somebody wrote beside the numbers, by day of the trial and arm. */
export const DEMO_NOTES: { day: number; arm: number; looks?: string; smell?: string; note?: string }[] = [
  { day: 1, arm: 2, looks: 'a finger of foam' },
  { day: 3, arm: 0, smell: 'faintly of struck matches' },
  { day: 3, arm: 2, looks: 'foam falling back' },
  { day: 7, arm: 0, smell: 'green apple' },
  { day: 14, arm: 2, smell: 'ripe banana', note: 'Five days after the vessel was opened: nothing on top.' },
  { day: 35, arm: 1, looks: 'bright' },
];

/** One slip, put right an hour later: what was written first stays beside it. */
export const DEMO_SLIP = {
  day: 3,
  arm: 1,
  ph: '4.95',
  note: 'Read again after calibrating: the meter had not been calibrated that morning.',
} as const;

/** What the invented host says of the cells that nobody counted. */
export const DEMO_FAIR_ANSWER = {
  finding: 'unknown cellsBillion',
  answer: 'One slurry, stirred and divided by weight within ten minutes: what was in a millilitre was alike.',
} as const;

/** The numbers of an arm on a day of the trial, as they were typed. `calibratedOn` is the day of the sample. */
export function demoTyped(arm: number, day: number, calibratedOn: string, ph?: string): TypedValues {
  return {
    ph: { text: ph ?? truePh(arm, day).toFixed(2), meterCalibratedOn: calibratedOn },
    gravity: {
      text: trueGravity(arm, day).toFixed(3),
      unit: 'sg',
      instrument: 'hydrometer',
      sampleC: null,
      calibratedAtC: 20,
      originalBrix: null,
      wortFactor: 1,
    },
    temperature: { text: String([14, 18, 22][arm] ?? 18), unit: 'C' },
    taken: { text: '100', unit: 'mL' },
  };
}
