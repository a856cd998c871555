import type { PanelPulls } from '@oddglass/shared/contracts/pull.ts';
import { dueOf, momentOf, type Clock, type Due } from '@oddglass/shared/notebook/due.ts';

type OpenPull = PanelPulls['pulls'][number];

export interface DueThisWeek {
  /** Overdue and up to seven days ahead, in the order in which they come. */
  rows: { one: OpenPull; due: Due; words: string }[];
  /** How many are planned for after that, and how many count from a pitching nobody noted. */
  later: number;
  waiting: number;
}

const WORDS: Readonly<Partial<Record<Due, string>>> = {
  overdue: 'overdue',
  today: 'today',
  'this-week': 'this week',
};

/** What of a panel's open pulls is due by the end of the seven days after today. */
export function dueThisWeek(pulls: readonly OpenPull[], clock: Clock): DueThisWeek {
  const all = pulls.map((one) => ({
    one,
    due: dueOf(
      { when: one.pull.when, cancelledAt: null, complete: one.read >= one.arms },
      one.pitchedAt,
      clock,
    ),
    at: momentOf(one.pull.when, one.pitchedAt) ?? '',
  }));
  return {
    rows: all
      .flatMap(({ one, due, at }) => {
        const words = WORDS[due];
        return words === undefined ? [] : [{ one, due, words, at }];
      })
      .sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (a.one.title < b.one.title ? -1 : 1))
      .map(({ one, due, words }) => ({ one, due, words })),
    later: all.filter(({ due }) => due === 'later').length,
    waiting: all.filter(({ due }) => due === 'not-pitched').length,
  };
}
