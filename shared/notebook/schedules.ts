import type { PullInput } from '../contracts/pull.ts';

/** Pulls as they are usually planned; what makes a schedule usual is common practice, no source. */
export interface Schedule {
  /** What a practitioner would call it. */
  name: string;
  /** Why these times. */
  why: string;
  pulls: readonly { name: string; hours: number }[];
}

const days = (...list: number[]): Schedule['pulls'] =>
  list.map((day) => ({ name: day === 0 ? 'Pitching' : `Day ${day}`, hours: day * 24 }));
const hours = (...list: number[]): Schedule['pulls'] =>
  list.map((count) => ({ name: count === 0 ? 'Pitching' : `${count} h`, hours: count }));

/** Usual schedules, counted from pitching. Common practice, no source; every pull can be moved. */
export const SCHEDULES: readonly Schedule[] = [
  {
    name: 'Ale or lager, to terminal gravity',
    why: 'Every day or two while gravity falls, then until two pulls in a row read the same.',
    pulls: days(0, 1, 2, 3, 5, 7, 10, 14),
  },
  {
    name: 'Mixed or wild culture, months',
    why: 'Close together while pH falls, then monthly: souring and Brettanomyces are slow.',
    pulls: days(0, 1, 2, 4, 7, 14, 30, 60, 90, 120, 180),
  },
  {
    name: 'Kettle sour, before the boil',
    why: 'pH by the hour of the day until it is where the boil shall stop it.',
    pulls: hours(0, 8, 16, 24, 36, 48),
  },
  {
    name: 'Cider or mead',
    why: 'Twice in the first week, then weekly, then as it clears.',
    pulls: days(0, 3, 7, 14, 21, 28, 60, 90),
  },
  {
    name: 'Kombucha or kvass',
    why: 'Every other day: it is stopped by pH and taste.',
    pulls: days(0, 2, 4, 6, 8, 10, 12, 14),
  },
];

/**
 * The pulls of a schedule as they are sent, with ids the caller makes; names that are there already are left out.
 * Example: `planned(SCHEDULES[2], [], null, () => 'x').length` is 6
 */
export function planned(
  schedule: Schedule,
  there: readonly string[],
  mlPerArm: number | null,
  newId: () => string,
): PullInput[] {
  const taken = new Set(there.map((name) => name.toLocaleLowerCase('en')));
  return schedule.pulls
    .filter(({ name }) => !taken.has(name.toLocaleLowerCase('en')))
    .map(({ name, hours: after }) => ({
      id: newId(),
      name,
      when: { kind: 'hours' as const, hours: after },
      mlPerArm,
      note: '',
    }));
}
