import { expect, test } from 'vitest';
import { dueThisWeek } from '../../web/src/lib/panel/due-this-week.ts';
import { smallDots } from '../../web/src/lib/plot/dot-strip.ts';

const clock = { now: '2031-03-10T09:00:00.000Z', dayOf: (moment: string) => moment.slice(0, 10) };
const open = (name: string, when: Parameters<typeof dueThisWeek>[0][number]['pull']['when'], read = 0) => ({
  trial: '00000000-0000-4000-8000-000000000001',
  title: 'Invented trial',
  pitchedAt: null,
  pull: { id: `00000000-0000-4000-8000-00000000000${name.length}`, name, when, mlPerArm: null },
  read,
  arms: 2,
});
const day = (on: string) => ({ kind: 'day' as const, on });

test('what is due comes by its day, overdue ones with it; later and waiting ones are counted', () => {
  const due = dueThisWeek(
    [
      open('week', day('2031-03-17')),
      open('l', day('2031-03-18')),
      open('today', day('2031-03-10'), 1),
      open('late', day('2031-03-09')),
      open('wait', { kind: 'hours', hours: 48 }),
      open('taken', day('2031-03-11'), 2),
    ],
    clock,
  );
  expect(due.rows.map(({ one, words }) => [one.pull.name, words])).toEqual([
    ['late', 'overdue'],
    ['today', 'today'],
    ['week', 'this week'],
  ]);
  expect([due.later, due.waiting]).toEqual([1, 1]);
});

test('a small plot has a point for each answer, in few bytes and rows', () => {
  for (const [answers, counted] of [
    [1, 0],
    [12, 12],
    [24, 9],
    [600, 250],
  ] as const) {
    const { counted: filled, other, width, height } = smallDots({ answers, counted, expected: answers / 3 });
    expect(filled.split('h0').length - 1).toBe(counted);
    expect(other.split('h0').length - 1).toBe(answers - counted);
    expect(width).toBeLessThanOrEqual(300);
    expect(height).toBeLessThanOrEqual(84);
    expect(filled.length + other.length).toBeLessThan(20 * answers);
  }
});
