import { expect, test } from 'vitest';
import { dueOf, inOrder, momentOf } from '@oddglass/shared/notebook/due.ts';
import { gravityFalling } from '@oddglass/shared/notebook/falling-gravity.ts';
import { planned, SCHEDULES } from '@oddglass/shared/notebook/schedules.ts';

const PITCHED = '2031-03-01T22:00:00Z';
const clock = { now: '2031-03-04T18:00:00Z', dayOf: (at: string) => at.slice(0, 10) };
const pull = (when: Parameters<typeof momentOf>[0], change = {}) => ({
  when,
  cancelledAt: null,
  complete: false,
  ...change,
});
const hours = (count: number) => pull({ kind: 'hours', hours: count });
const on = (day: string) => pull({ kind: 'day', on: day });

test.each([
  [hours(24), 'overdue'],
  [hours(72), 'today'],
  [hours(96), 'this-week'],
  [on('2031-03-03'), 'overdue'],
  [on('2031-03-04'), 'today'],
  [on('2031-03-11'), 'this-week'],
  [on('2031-03-12'), 'later'],
  [pull({ kind: 'unplanned', at: '2031-03-04T08:00:00Z' }), 'today'],
  [{ ...hours(24), complete: true }, 'taken'],
  [{ ...hours(24), complete: true, cancelledAt: PITCHED }, 'cancelled'],
])('%j is %s', (one, due) => expect(dueOf(one, PITCHED, clock)).toBe(due));

test('days are the reader’s: what is today in one place is tomorrow in another', () => {
  const east = {
    ...clock,
    dayOf: (at: string) => new Date(Date.parse(at) + 11 * 3_600_000).toISOString().slice(0, 10),
  };
  expect(dueOf(on('2031-03-04'), PITCHED, clock)).toBe('today');
  expect(dueOf(on('2031-03-04'), PITCHED, east)).toBe('overdue');
});

test('what counts from pitching waits for it', () => {
  expect(dueOf(hours(24), null, clock)).toBe('not-pitched');
  expect(momentOf({ kind: 'hours', hours: 24 }, null)).toBeNull();
});

test('pulls come in order, those that wait last by their hours', () => {
  const named = (name: string, one: { when: Parameters<typeof momentOf>[0] }) => ({ name, when: one.when });
  const list = [named('c', hours(48)), named('b', hours(2)), named('a', on('2031-03-01'))];
  expect(inOrder(list, PITCHED).map(({ name }) => name)).toEqual(['a', 'b', 'c']);
  expect(inOrder(list, null).map(({ name }) => name)).toEqual(['a', 'b', 'c']);
});

test('a schedule plans each name once, and every schedule starts at pitching', () => {
  for (const schedule of SCHEDULES) {
    expect(schedule.pulls[0]).toEqual({ name: 'Pitching', hours: 0 });
    const ids = planned(schedule, ['pitching'], 50, () => 'x');
    expect(ids).toHaveLength(schedule.pulls.length - 1);
    expect(new Set(schedule.pulls.map(({ name }) => name)).size).toBe(schedule.pulls.length);
  }
});

const read = (gravity: number, day: number, current = true) => ({
  arm: 'a',
  current,
  gravity,
  takenAt: `2031-03-${String(day).padStart(2, '0')}T12:00:00Z`,
});
test.each([
  ['one reading', [read(1.01, 1)], null],
  ['a drop of 0.001 in two days', [read(1.012, 1), read(1.011, 3)], false],
  ['a drop of 0.0011 in two days', [read(1.0121, 1), read(1.011, 3)], true],
  ['a day apart and steady', [read(1.012, 1), read(1.012, 2)], null],
  ['a day apart and falling', [read(1.014, 1), read(1.012, 2)], true],
  ['steady over a day, falling over three', [read(1.014, 1), read(1.012, 3), read(1.012, 4)], true],
  ['a drop that was corrected', [read(1.014, 1, false), read(1.012, 1), read(1.012, 3)], false],
] as const)('%s: falling is %s', (_, readings, falling) =>
  expect(gravityFalling(readings, 'a')).toBe(falling),
);
