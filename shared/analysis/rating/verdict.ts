import type { MethodNote } from '../../contracts/result-common.ts';
import type { MarkFigures } from '../../contracts/result-rating.ts';
import type { RandomSource } from '../../ground/random.ts';
import { holm } from '../../stats/multiplicity.ts';
import { withinAssessors, type WithinAssessorsTest } from '../../stats/rating/within-assessors.ts';
import type { AskedMark } from './marks.ts';
import { personMeans } from './ranks.ts';

type Verdict = NonNullable<MarkFigures['verdict']>;

/** Random orders of the test, for each list of marks. */
export const PERMUTATIONS = 9999;

/**
 * What findings about marks stand on, one verdict for each list: the permutation test within people, fixed beforehand,
 * whatever the marks look like; p adjusted over all lists by Holm, those without any spread included. Null where nobody
 * marked two samples. `samples` is their number. Pure; sums do not depend on the order of marks.
 */
export function verdictsOf(
  lists: readonly (readonly AskedMark[])[],
  samples: number,
  random: RandomSource,
): (Verdict | null)[] {
  const tests = lists.map((marks) =>
    withinAssessors({ rows: personMeans(marks, samples), random, permutations: PERMUTATIONS }),
  );
  const { adjusted } = holm({ p: tests.map((test) => test?.p ?? null), planned: lists.length });
  return tests.map((test, at) => test && verdictOf(test, adjusted[at] ?? 1));
}

function verdictOf(
  { marks, ranks, p, route, permutations, assessors, leftOut }: WithinAssessorsTest,
  adjusted: number,
): Verdict {
  return { marks, ranks, p, adjusted, route, permutations, assessors, leftOut };
}

/** The permutation test within people, as the finding of a part uses it. */
export function verdictNote({ explains, inputs }: Pick<MethodNote, 'explains' | 'inputs'>): MethodNote {
  return {
    id: 'verdict',
    name: 'Permutation test within people',
    explains,
    source:
      'Pitman 1938, Biometrika 29:322; Westfall & Young 1993 (the larger of two statistics); Phipson & Smyth 2010, Statistical Applications in Genetics and Molecular Biology 9:39 (all from memory). Taking marks and ranks together is our own.',
    inputs,
    assumption:
      'People are independent of each other; if samples do not differ, every order of one person’s marks is equally likely. Where one sample had more cups than others its means vary less, which bends p a little.',
  };
}

/** How its p was had: 'all orders', or 'random orders, ...'. */
export function routeInWords({ route }: Verdict): string {
  return route === 'exact' ? 'all orders' : 'random orders, 9,999 unless fewer show that p is large';
}
