import type { SiteComparison, SiteTest } from '../../contracts/result-sites.ts';
import { isDifferenceKind } from '../../kinds/kinds.ts';
import { capital, inWords, listed, pEquals } from '../../ground/phrases.ts';
import { equalShares } from '../../stats/discrimination/equal-shares.ts';
import { holm } from '../../stats/multiplicity.ts';
import { sampleByGroup } from '../../stats/rating/sample-by-group.ts';
import { judgeTrays } from '../choice/judge.ts';
import { servedFacts, type PartInput } from '../common/served.ts';
import { markTable, type AskedMark } from '../rating/marks.ts';
import { hasRightAnswer } from '../../kinds/kinds.ts';
import type { ControlPart, DifferencePart, LikingPart, RatingPart } from '../../contracts/part.ts';

/** The place of each person, from 1, by the label that their trays have. */
export type SiteOf = ReadonlyMap<string, number>;

/**
 * A part place by place: who answered, what was counted, and a test whether places agree. A place is a block: in a test of
 * difference guessing is right at the same rate at each, so that the pooled exact test stands, and marks are compared within
 * people, to whom a place is one and the same for all samples. So this is looked at beside a finding, which never rests on it.
 * Pure. Sources: equal-shares.ts, sample-by-group.ts.
 */
export function comparePlaces(input: PartInput, siteOf: SiteOf, places: number): SiteComparison {
  const { part, number } = input;
  const counted = isDifferenceKind(part) ? countsOf({ ...input, part }, siteOf) : null;
  const rows = Array.from({ length: places }, (_, at) => {
    const own = input.trays.filter(({ assessor }) => siteOf.get(assessor) === at + 1);
    const { assessors, answers } = servedFacts(own);
    const right = counted?.all.get(at + 1);
    return { site: at + 1, people: assessors, answers, counted: counted ? (right ?? 0) : null };
  });
  const tests = counted ? counted.tests : testsOfMarks(input, siteOf);
  const told = rows.filter(({ people }) => people > 0).length;
  return {
    part: number,
    kind: part.kind,
    rows,
    counts: counted ? counted.name : '',
    tests,
    reading: readingOf({
      told,
      tests,
      alpha: 'alpha' in part ? part.alpha : 0.05,
      counts: counted !== null,
      asked: part.kind,
    }),
  };
}

/** Right answers by place, and the test of each person's first one: further trays of a person are no further people. */
function countsOf(
  input: PartInput<DifferencePart>,
  siteOf: SiteOf,
): { name: string; all: Map<number, number>; tests: SiteTest[] } {
  const { part, session } = input;
  const judged = judgeTrays(input);
  const all = new Map<number, number>();
  const first = new Map<string, (typeof judged)[number]>();
  for (const answer of judged) {
    const site = siteOf.get(answer.assessor) ?? 0;
    all.set(site, (all.get(site) ?? 0) + (answer.counted ? 1 : 0));
    const before = first.get(answer.assessor);
    if (!before || answer.replicate < before.replicate) first.set(answer.assessor, answer);
  }
  const groups = [...Map.groupBy(first.values(), ({ assessor }) => siteOf.get(assessor) ?? 0)]
    .sort(([a], [b]) => a - b)
    .map(([, own]) => ({ yes: own.filter((one) => one.counted).length, n: own.length }));
  const name = hasRightAnswer(part)
    ? 'right'
    : (session.arms.find(({ id }) => id === part.armIds[0])?.name ?? '');
  if (groups.length < 2) return { name, all, tests: [] };
  const { p, route, chiSquare, df } = equalShares(groups);
  if (chiSquare === null) return { name, all, tests: [] };
  return {
    name,
    all,
    tests: [{ about: '', by: route, statistic: chiSquare, df1: df, df2: null, p, people: first.size }],
  };
}

/** Of marks: does what samples differ by depend on the place? People with a mark for every sample. */
function testsOfMarks(input: PartInput, siteOf: SiteOf): SiteTest[] {
  const { part } = input;
  if (part.kind !== 'rating' && part.kind !== 'control' && part.kind !== 'liking') return [];
  const asked: { id: string; about: string }[] =
    part.kind === 'rating'
      ? part.attributes.map(({ id, name }) => ({ id, about: name }))
      : [{ id: '', about: '' }];
  const { marks, samples } = markTable(input as PartInput<RatingPart | ControlPart | LikingPart>);
  const found = asked.flatMap(({ id, about }): SiteTest[] => {
    const { rows, groups } = completeOf(marks.get(id) ?? [], samples.length, siteOf);
    if (rows.length === 0) return [];
    const { test, people } = sampleByGroup({ rows, groups });
    if (!test) return [];
    return [{ about, by: 'f', statistic: test.f, df1: test.df1, df2: test.df2, p: test.p, people }];
  });
  if (found.length < 2) return found;
  const { adjusted } = holm({ p: found.map(({ p }) => p) });
  return found.map((one, at) => ({ ...one, p: adjusted[at] ?? one.p }));
}

/** A row for each person with a mark for every sample: repeated marks by their mean. */
function completeOf(
  marks: readonly AskedMark[],
  samples: number,
  siteOf: SiteOf,
): { rows: number[][]; groups: string[] } {
  const rows: number[][] = [];
  const groups: string[] = [];
  for (const [assessor, own] of Map.groupBy(marks, (mark) => mark.assessor)) {
    const site = siteOf.get(assessor);
    const row = Array.from({ length: samples }, (_, place) => {
      const values = own.flatMap(({ place: at, value }) => (at === place && value !== null ? [value] : []));
      return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
    });
    const whole = row.filter((value) => value !== null);
    if (site === undefined || samples < 2 || whole.length < samples) continue;
    rows.push(whole);
    groups.push(String(site));
  }
  return { rows, groups };
}

interface Read {
  told: number;
  tests: readonly SiteTest[];
  alpha: number;
  counts: boolean;
  asked: string;
}

function readingOf({ told, tests, alpha, counts, asked }: Read): string {
  if (told < 2) return 'Only one place answered this part, so that there is nothing to compare.';
  if (tests.length === 0) {
    return counts || asked === 'rating' || asked === 'control' || asked === 'liking'
      ? 'Places cannot be compared here: too few people, or all of them said the same.'
      : 'Of this kind of part places are told by how many answered; no test compares them.';
  }
  const what = counts ? 'The chance of such an answer' : 'What samples differ by';
  const apart = tests.filter(({ p }) => p <= alpha);
  const values = tests.map(({ about, p }) => `${about === '' ? '' : `${about} `}${pEquals(p)}`);
  if (apart.length === 0) {
    return `${what} is not shown to depend on the place (${listed(values)}). Few people at a place show little: this does not say that places agree.`;
  }
  const named = apart.filter(({ about }) => about !== '').map(({ about }) => `‘${about}’`);
  const of = named.length > 0 ? ` for ${listed(named)}` : '';
  return `${what} depends on the place${of} (${listed(values)}): what is found over all places is an average of ${inWords(told)} that differ. ${capital('transport, temperature and time since pouring')} are the first to look at.`;
}
