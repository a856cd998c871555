import type { PullWhen } from '../contracts/pull.ts';

/** In the order in which a person looks at them. */
export const DUE = ['overdue', 'today', 'this-week', 'later', 'not-pitched', 'taken', 'cancelled'] as const;
export type Due = (typeof DUE)[number];

export interface PullToCome {
  when: PullWhen;
  cancelledAt: string | null;
  /** Every arm has a reading. */
  complete: boolean;
}

/** The clock, which is the caller's. */
export interface Clock {
  now: string;
  /** The calendar day of a moment where the reader is, YYYY-MM-DD. */
  dayOf: (moment: string) => string;
}

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

/**
 * The moment a pull is planned for, ISO 8601 in UTC; of one planned for a day, noon of it in UTC, so that it sorts among
 * moments; null while the trial is not pitched and the pull counts from there.
 * Example: `Date.parse(momentOf({ kind: 'hours', hours: 48 }, '2031-03-04T18:00:00Z'))` is 1930586400000
 */
export function momentOf(when: PullWhen, pitchedAt: string | null): string | null {
  if (when.kind === 'unplanned') return when.at;
  if (when.kind === 'day') return `${when.on}T12:00:00.000Z`;
  return pitchedAt === null ? null : new Date(Date.parse(pitchedAt) + when.hours * HOUR_MS).toISOString();
}

/**
 * The calendar day a pull is planned for where the reader is; null while nobody knows.
 * Example: `Date.parse(dayOf({ kind: 'day', on: '2031-03-04' }, null, { dayOf: (at) => at.slice(0, 10) }))` is 1930348800000
 */
export function dayOf(when: PullWhen, pitchedAt: string | null, clock: Pick<Clock, 'dayOf'>): string | null {
  if (when.kind === 'day') return when.on;
  const moment = momentOf(when, pitchedAt);
  return moment === null ? null : clock.dayOf(moment);
}

/**
 * What a pull is to somebody who looks now: overdue from the day after the planned one on, today, within the seven days
 * after today, later; or it waits for pitching, is taken (every arm read), or was cancelled. Days are the reader's.
 * Example: `DUE.indexOf(dueOf({ when: { kind: 'day', on: '2031-03-04' }, cancelledAt: null, complete: false }, null, { now: '2031-03-04T18:00:00Z', dayOf: (at) => at.slice(0, 10) }))` is 1
 */
export function dueOf(pull: PullToCome, pitchedAt: string | null, clock: Clock): Due {
  if (pull.cancelledAt !== null) return 'cancelled';
  if (pull.complete) return 'taken';
  const day = dayOf(pull.when, pitchedAt, clock);
  if (day === null) return 'not-pitched';
  const ahead = Math.round((Date.parse(day) - Date.parse(clock.dayOf(clock.now))) / DAY_MS);
  if (ahead < 0) return 'overdue';
  if (ahead === 0) return 'today';
  return ahead <= 7 ? 'this-week' : 'later';
}

/**
 * Pulls in the order in which they come: by moment, those that wait for pitching last by their hours, then by name.
 * Example: `inOrder([{ name: 'b', when: { kind: 'hours', hours: 48 } }, { name: 'a', when: { kind: 'hours', hours: 2 } }], null)[0].when.hours` is 2
 */
export function inOrder<Pull extends { name: string; when: PullWhen }>(
  pulls: readonly Pull[],
  pitchedAt: string | null,
): Pull[] {
  const hours = (when: PullWhen): number => (when.kind === 'hours' ? when.hours : 0);
  return [...pulls].sort((one, other) => {
    const [a, b] = [momentOf(one.when, pitchedAt), momentOf(other.when, pitchedAt)];
    if (a === null || b === null) {
      if (a !== b) return a === null ? 1 : -1;
      return hours(one.when) - hours(other.when) || compare(one.name, other.name);
    }
    return Date.parse(a) - Date.parse(b) || compare(one.name, other.name);
  });
}

const compare = (one: string, other: string): number => (one < other ? -1 : one > other ? 1 : 0);
