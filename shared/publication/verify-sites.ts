import type { PartOf, SessionOf } from './verify-format.ts';
import type { Report } from './verify-report.ts';

// Places of a session once more: as many as were sealed, counts that add up to those of the part, and the exact p from them.

interface Sealed {
  sites?: { assessors: number; spareSeats: number }[];
  assessors: number;
  spareSeats: number;
}

/** What is told of places against the seal and against the parts; nothing where there was one place, or older files. */
export function checkSites({ sites, parts }: SessionOf, sealed: Sealed, { same, none }: Report): void {
  const sum = (of: 'assessors' | 'spareSeats') => (sealed.sites ?? []).reduce((all, one) => all + one[of], 0);
  if (sealed.sites) {
    same(
      'people of all places',
      [sum('assessors'), sum('spareSeats')].join(),
      [sealed.assessors, sealed.spareSeats].join(),
    );
  }
  if (!sites) return;
  same('places as sealed', sites.places, sealed.sites?.length ?? 1);
  none('places add up to their parts', (fault) => {
    for (const { part, rows, tests } of sites.compared ?? []) {
      const told = parts.find((one) => one.part === part);
      if (!told) {
        fault(`part ${part} is told by place only`);
        continue;
      }
      const add = (of: (row: (typeof rows)[number]) => number) => rows.reduce((all, row) => all + of(row), 0);
      if (rows.length !== sites.places)
        fault(`part ${part} is told at ${rows.length} of ${sites.places} places`);
      if (add(({ people }) => people) !== told.served.assessors)
        fault(
          `part ${part}: ${add(({ people }) => people)} people by place, ${told.served.assessors} in all`,
        );
      checkCounts(told, rows, tests, fault);
    }
  });
}

type Compared = NonNullable<NonNullable<SessionOf['sites']>['compared']>[number];

function checkCounts(
  { part, test }: PartOf,
  rows: Compared['rows'],
  tests: Compared['tests'],
  fault: (text: string) => void,
): void {
  const counts = rows.flatMap(({ answers, counted }) =>
    counted === null ? [] : [{ yes: counted, n: answers }],
  );
  if (counts.length === 0 || !test) return;
  const counted = counts.reduce((all, { yes }) => all + yes, 0);
  if (counts.length !== rows.length || counted !== test.counted)
    fault(`part ${part}: ${counted} counted by place, ${test.counted} in all`);
  const [told] = tests;
  if (told?.by !== 'exact') return;
  const p = exactP(counts);
  if (Math.abs(p - told.p) > 1e-9) fault(`part ${part}: p ${told.p} by place, from its counts ${p}`);
}

/** Chance of all tables with these margins that are no more probable than this one: table by table, with products of ratios. */
function exactP(groups: readonly { yes: number; n: number }[]): number {
  const ways = (n: number, k: number): number => {
    let found = 1;
    for (let at = 1; at <= k; at += 1) found = (found * (n - k + at)) / at;
    return found;
  };
  const yes = groups.reduce((all, one) => all + one.yes, 0);
  const seen = groups.reduce((all, one) => all * ways(one.n, one.yes), 1);
  let [as, of] = [0, 0];
  const walk = (at: number, left: number, weight: number): void => {
    const group = groups[at];
    if (!group) {
      if (left > 0) return;
      of += weight;
      if (weight <= seen * (1 + 1e-7)) as += weight;
      return;
    }
    for (let k = 0; k <= Math.min(group.n, left); k += 1) walk(at + 1, left - k, weight * ways(group.n, k));
  };
  walk(0, yes, 1);
  return as / of;
}
