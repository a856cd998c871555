import { chiSquareAbove } from './verify-distributions.ts';
import { numberOf, type MarkedSample, type Marks, type PartOf } from './verify-format.ts';
import { checkDrawn, rankScale, whole, type Cells } from './verify-report.ts';
import { studentizedRangeAbove } from './verify-thurstone.ts';

// What marks count up to (verify.ts): histograms, means, ends, places, and mean ranks.

/** The scale of a part: its ends, whether it has steps, and to what means of small panels are rounded. */
export interface Span {
  lowest: number;
  highest: number;
  steps: boolean;
  step: number;
}

export function spanOf({ kind, settings }: PartOf): Span {
  if (kind === 'control')
    return { lowest: 0, highest: (settings['degrees'] as unknown[]).length - 1, steps: true, step: 0.5 };
  if (kind === 'rating' && settings['scale'] === 'line')
    return { lowest: 0, highest: 100, steps: false, step: 5 };
  return { lowest: 1, highest: 9, steps: true, step: 0.5 };
}

export function checkCounts(list: Marks & { name: string }, part: PartOf, span: Span, cells: Cells): void {
  const { samples, positions } = list;
  for (const key of ['n', 'declined', 'unanswered'] as const) {
    const sum = whole(samples.map((one) => one[key]));
    cells.count({ n: 'marks', declined: 'cups declined', unanswered: 'cups unanswered' }[key], list[key]);
    if (sum !== null)
      cells.is(
        `${{ n: 'marks', declined: 'cups declined', unanswered: 'cups unanswered' }[key]} over samples`,
        list[key],
        sum,
      );
  }
  cells.count('people with a mark', list.assessors, part.served.assessors);
  for (const one of samples) checkSample(one, list, span, cells);
  const least = samples.reduce((most, { assessors }) => Math.max(most, assessors ?? 0), 0);
  cells.within('people with a mark', list.assessors, least, Infinity);
  checkEnds(list, span, cells);
  const { rows = [] } = positions ?? {};
  if (rows.length > 0) checkPlaces(list, rows, cells);
  const again = list.repeatability;
  if (again)
    cells.is('degrees of freedom of repeated marks', again['df'], (list.n ?? 0) - (cellsOf(samples) ?? NaN));
}

/** Pairs of a person and a sample. */
const cellsOf = (samples: readonly MarkedSample[]): number | null =>
  whole(samples.map(({ assessors }) => assessors));

function checkSample(
  one: MarkedSample,
  list: Marks,
  { lowest, highest, steps, step }: Span,
  cells: Cells,
): void {
  const { sample, n, assessors, declined, unanswered, mean, counts = [] } = one;
  cells.count(`marks of ${sample}`, n);
  cells.count(`people who marked ${sample}`, assessors, Math.min(n ?? Infinity, list.assessors ?? Infinity));
  if (n !== null && n > 0) cells.within(`people who marked ${sample}`, assessors, 1, n);
  cells.count(`cups of ${sample} declined`, declined);
  cells.count(`cups of ${sample} unanswered`, unanswered);
  cells.within(`mean of ${sample}`, mean, lowest, highest);
  if (n === 0 && mean !== null) cells.fault(`mean of ${sample} is ${mean}, of no marks`);
  if (counts.length === 0 || !steps) return;
  counts.forEach(({ value, marks }, at) => {
    cells.is(`step ${at + 1} of ${sample}`, value, lowest + at);
    cells.count(`marks ${value} of ${sample}`, marks, n ?? undefined);
  });
  cells.is(`steps of ${sample}`, counts.length, highest - lowest + 1);
  const sum = whole(counts.map(({ marks }) => marks));
  if (sum === null) return;
  cells.is(`marks of ${sample} over steps`, n, sum);
  const total = counts.reduce((all, { value, marks }) => all + value * Number(marks), 0);
  if (sum > 0) cells.is(`mean of ${sample} from its histogram`, mean, total / sum, step);
}

function checkEnds({ ends, samples, n }: Marks, { steps }: Span, cells: Cells): void {
  if (!ends) return;
  for (const [key, at] of [
    ['low', 0],
    ['high', -1],
  ] as const) {
    cells.within(`share of marks at the ${key} end`, ends[key], 0, 1);
    const there = whole(samples.map(({ counts = [] }) => counts.at(at)?.marks ?? null));
    if (steps && there !== null && n) cells.is(`share of marks at the ${key} end`, ends[key], there / n);
    else if (
      !cells.coarse &&
      n &&
      ends[key] !== null &&
      !wholeIn(ends[key], n) &&
      // Of few steps without marks by value the shares at the ends are told to tenths.
      !(steps && wholeIn(ends[key], 10))
    )
      cells.fault(`share of marks at the ${key} end is ${ends[key]}, which is no share of ${n}`);
  }
}

const wholeIn = (share: number, parts: number): boolean =>
  Math.abs(share * parts - Math.round(share * parts)) <= 1e-6;

/** Marks by place: as many as there are, with the same sum, and deviations that cancel out. */
function checkPlaces(list: Marks, rows: NonNullable<Marks['positions']>['rows'], cells: Cells): void {
  rows.forEach(({ position, n }, at) => {
    const before = rows[at - 1]?.position;
    cells.count(`place ${position}`, position);
    if (
      position !== null &&
      (position < 1 || (before !== undefined && before !== null && position <= before))
    )
      cells.fault(`place ${position} stands after place ${before ?? 0}`);
    cells.count(`marks at place ${position}`, n, list.n ?? undefined);
  });
  cells.is(
    'places count up',
    rows.every(({ position }, at) => position === (rows[0]?.position ?? 0) + at),
    true,
  );
  const all = whole(rows.map(({ n }) => n));
  cells.is('marks over places', all, list.n);
  const sum = (of: 'mean' | 'deviation'): number | null =>
    whole(rows.map((row) => (row.n === null || row[of] === null ? null : row.n * row[of])));
  const [total, off] = [sum('mean'), sum('deviation')];
  const marks = whole(
    list.samples.map(({ n, mean }) => (n === 0 ? 0 : n === null || mean === null ? null : n * mean)),
  );
  if (cells.coarse || total === null || marks === null) return;
  cells.is('sum of marks over places', total, marks);
  if (off !== null && Math.abs(off) > 1e-6)
    cells.fault(`deviations of places add up to ${off}, and should to 0`);
}

/** The answer by ranks: mean ranks add up, pairs are their differences, p follows where it is by chi-square. */
export function checkRankAnswer(
  ranks: NonNullable<Marks['ranks']>,
  list: Marks,
  k: number,
  cells: Cells,
): void {
  const people = numberOf(ranks['assessors']);
  const square = numberOf(ranks['chiSquare']);
  cells.count('people of the rank test', people, list.assessors ?? undefined);
  if (people !== null && typeof list.assessors === 'number')
    cells.is('people left out of the rank test', ranks['leftOut'], list.assessors - people);
  checkDrawn(ranks, cells);
  const df = numberOf(ranks['df']);
  // Blocks that nothing joins have fewer.
  cells.count('degrees of freedom by ranks', df, Math.max(0, ranks.samples.length - 1));
  if (square !== null && df !== null && ranks['route'] === 'chi-square')
    cells.p('p by ranks', ranks['p'], chiSquareAbove(square, df));
  for (const { sample, meanRank } of ranks.samples) cells.within(`mean rank of ${sample}`, meanRank, 1, k);
  if (ranks['by'] !== 'friedman' || people === null || cells.coarse) return;
  cells.is('degrees of freedom by ranks', ranks['df'], k - 1);
  const means = ranks.samples.map(({ meanRank }) => meanRank);
  const sum = whole(means);
  if (sum === null) return;
  cells.is('mean ranks together', sum, (k * (k + 1)) / 2);
  const plain =
    (12 * people * means.reduce((all: number, one) => all + (Number(one) - (k + 1) / 2) ** 2, 0)) /
    (k * (k + 1));
  // Ties make it larger, by how much is not told.
  cells.within('chi-square by ranks', square, plain, people * (k - 1));
  const of = (key: unknown): number => Number(ranks.samples.find(({ sample }) => sample === key)?.meanRank);
  // All pairs stand on one spread of ranks, ties and all, which the statistic tells.
  const scale = rankScale(
    means.map((one) => people * (Number(one) - (k + 1) / 2)),
    square,
  );
  for (const pair of ranks.pairs) {
    const name = `${String(pair['first'])} and ${String(pair['second'])} by ranks`;
    const apart = people * (of(pair['first']) - of(pair['second']));
    cells.is(`difference of ${name}`, pair['difference'], apart);
    if (scale === null || k === 2) cells.within(`p of ${name}`, pair['p'], 0, 1);
    else
      cells.p(
        `p of ${name}`,
        pair['p'],
        studentizedRangeAbove((Math.SQRT2 * Math.abs(apart)) / scale, k, Infinity),
      );
  }
}
