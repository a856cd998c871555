import {
  chiSquareAbove,
  fAbove,
  holm,
  normalBelow,
  studentBoth,
  studentQuantile,
} from './verify-distributions.ts';
import { numberOf, type Fields, type Marks, type PartOf } from './verify-format.ts';
import { checkCounts, checkRankAnswer, spanOf, type Span } from './verify-marks-counts.ts';
import { checkDrawn, rankScale, whole, type Cells, type Look } from './verify-report.ts';
import { studentizedRangeAbove } from './verify-thurstone.ts';

// The verifier's figures of marks (verify.ts): a rating, degrees of difference, liking. What stands on a fit (estimated means,
// spreads, residual checks) is taken as told, and what follows from it is worked out again.

type List = Marks & { name: string };

export function checkMarks(part: PartOf, look: Look): void {
  const { kind, figures, attributes, comparisons } = part;
  const own = kind === 'control' ? 'degree of difference' : 'liking';
  const lists: List[] = attributes ?? (figures ? [{ ...figures, name: own }] : []);
  const planned = (part.settings['attributes'] as unknown[] | undefined)?.length ?? 1;
  const span = spanOf(part);
  for (const list of lists) {
    look(`marks of ${list.name}`, (cells) => checkCounts(list, part, span, cells));
    look(`tests of ${list.name}`, (cells) => checkTests(list, part, cells));
    look(`pairs of ${list.name}`, (cells) => checkPairs(list, part, span, cells));
  }
  look('p adjusted over attributes', (cells) => checkAdjusted(lists, planned, part, cells));
  if (comparisons) look('comparisons with the control', (cells) => checkControl(part, lists, span, cells));
}

/** F, permutation test, ranks and odds, as far as they follow from what is told beside them. */
function checkTests(list: List, part: PartOf, cells: Cells): void {
  const { test, verdict, ranks, link, effect } = list;
  const k = list.samples.filter(({ n }) => n !== 0).length;
  for (const one of [verdict, part.kind === 'control' ? part.verdict : null]) {
    if (!one) continue;
    checkDrawn(one, cells);
    cells.within('share of squares by marks', one['marks'], 0, 1);
    cells.within('share of squares by ranks', one['ranks'], 0, 1);
    const people = numberOf(one['assessors']);
    cells.count('people of the permutation test', people, list.assessors ?? undefined);
    if (people !== null && typeof list.assessors === 'number')
      cells.is('people left out of the permutation test', one['leftOut'], list.assessors - people);
  }
  if (verdict && test?.['by'] === 'anova' && !cells.coarse) checkSquares(list, cells);
  if (test) {
    const [f, df1, df2] = ['f', 'df1', 'df2'].map((key) => numberOf(test[key]));
    cells.within('F', f, 0, Infinity);
    cells.is('upper degrees of freedom of F', df1, k - 1);
    if (test['by'] === 'anova' && list.assessors) {
      cells.is('lower degrees of freedom of F', df2, (k - 1) * (list.assessors - 1));
      const size = (Number(df1) * (Number(f) - 1)) / (Number(df1) * Number(f) + Number(df2));
      if (!cells.coarse) cells.is('partial epsilon squared', effect?.['partialEpsilonSquared'], size);
    }
    if (typeof f === 'number' && typeof df1 === 'number' && typeof df2 === 'number' && !cells.coarse)
      cells.p('p of F', test['p'], fAbove(f, df1, df2));
  }
  if (link) {
    const [square, df] = [numberOf(link['chiSquare']), numberOf(link['df'])];
    cells.is('degrees of freedom of the ordered categories', df, k - 1);
    if (square !== null && df !== null)
      cells.p('p of the ordered categories', link['p'], chiSquareAbove(square, df));
    for (const pair of link.pairs) {
      const [odds, lower, upper] = ['oddsRatio', 'lower', 'upper'].map((key) => Number(pair[key]));
      cells.within('odds of a pair', odds, 0, Infinity);
      // Limits lie alike on both sides of the logarithm.
      if (odds !== undefined && lower && upper)
        cells.is(
          `odds of ${String(pair['first'])} and ${String(pair['second'])}`,
          odds,
          Math.sqrt(lower * upper),
        );
      cells.within('p of a pair', pair['pTukey'], 0, 1);
    }
  }
  if (ranks) checkRankAnswer(ranks, list, k, cells);
  cells.within('variation explained', effect?.['marginalR2'], 0, 1);
  if (!cells.coarse) checkSpread(list, cells);
}

/** Standardised differences and the variation explained stand on the spreads told. */
function checkSpread({ spread, pairs = [], samples, effect }: List, cells: Cells): void {
  if (!spread) return;
  const parts = ['assessor', 'interaction', 'residual'].map((key) => numberOf(spread[key]) ?? 0);
  for (const part of parts) cells.within('a standard deviation', part, 0, Infinity);
  const variance = parts.reduce((sum, one) => sum + one ** 2, 0);
  if (variance === 0) return;
  for (const pair of pairs) {
    const difference = numberOf(pair['difference']);
    if (difference !== null)
      cells.is(
        `standardised difference of ${pair.first} and ${pair.second}`,
        pair['standardised'],
        difference / Math.sqrt(variance),
      );
  }
  const told = samples.filter(({ n }) => n !== 0);
  const means = told.map(({ estimated }) => numberOf(estimated?.['mean']));
  const [n, all] = [told.map((one) => Number(one.n)), whole(told.map((one) => one.n))];
  if (means.includes(null) || all === null || all < 2) return;
  const middle = means.reduce((sum: number, mean, at) => sum + (Number(mean) * Number(n[at])) / all, 0);
  const squares = means.reduce(
    (sum: number, mean, at) => sum + Number(n[at]) * (Number(mean) - middle) ** 2,
    0,
  );
  const fixed = squares / (all - 1);
  cells.is('variation explained', effect?.['marginalR2'], fixed / (fixed + variance));
}

/** In a full table without repeated cups F and the share of squares between samples say the same, and so do means and pairs. */
function checkSquares({ samples, test, verdict, pairs = [] }: List, cells: Cells): void {
  const [f, df1, df2] = ['f', 'df1', 'df2'].map((key) => Number(test?.[key]));
  if (f === undefined || df1 === undefined || df2 === undefined) return;
  cells.is('share of squares by marks', verdict?.['marks'], (df1 * f) / (df1 * f + df2));
  const told = samples.filter(({ mean, n }) => mean !== null && n !== 0);
  const error = numberOf(pairs[0]?.['standardError']);
  const n = told[0]?.n;
  if (error === null || error === 0 || !n || told.some((one) => one.n !== n)) return;
  const middle = told.reduce((sum, { mean }) => sum + Number(mean), 0) / told.length;
  const between = told.reduce((sum, { mean }) => sum + (Number(mean) - middle) ** 2, 0) / df1;
  // The error of a difference is the root of twice the mean square of errors over n.
  cells.is('F from means and the error of a difference', test?.['f'], (2 * between) / error ** 2);
}

function checkPairs(list: List, part: PartOf, span: Span, cells: Cells): void {
  const { pairs = [], samples, shown, trust, test } = list as List & { shown?: boolean; trust?: string };
  const k = samples.filter(({ n }) => n !== 0).length;
  const { alpha } = part.settings;
  const of = (key: string) => samples.find(({ sample }) => sample === key);
  for (const { sample, estimated } of samples) {
    if (!estimated) continue;
    const [mean, lower, upper, error, df] = ['mean', 'lower', 'upper', 'standardError', 'df'].map((key) =>
      Number(estimated[key]),
    );
    if (cells.coarse) continue;
    const reach = studentQuantile(0.975, df ?? 1) * (error ?? 0);
    cells.is(`lower limit of the mean of ${sample}`, lower, (mean ?? 0) - reach);
    cells.is(`upper limit of the mean of ${sample}`, upper, (mean ?? 0) + reach);
  }
  const critical = new Map<string, boolean>();
  for (const pair of pairs) {
    const name = `${pair.first} and ${pair.second}`;
    const [difference, lower, upper, error, df, p] = [
      'difference',
      'lower',
      'upper',
      'standardError',
      'df',
      'pTukey',
    ].map((key) => numberOf(pair[key]));
    const [one, other] = [of(pair.first), of(pair.second)];
    const means =
      test?.['by'] === 'anova'
        ? [one?.mean, other?.mean]
        : [one?.estimated?.['mean'], other?.estimated?.['mean']];
    if (typeof means[0] === 'number' && typeof means[1] === 'number' && typeof difference === 'number') {
      const apart = means[0] - means[1];
      // Means and differences are rounded apart from each other.
      if (cells.coarse)
        cells.within(`difference of ${name}`, difference, apart - 1.5 * span.step, apart + 1.5 * span.step);
      else cells.is(`difference of ${name}`, difference, apart);
    }
    if (cells.coarse || [difference, lower, upper, error, df].some((value) => typeof value !== 'number'))
      continue;
    const [d, low, high, se, free] = [difference, lower, upper, error, df].map(Number) as [
      number,
      number,
      number,
      number,
      number,
    ];
    if (test?.['by'] === 'anova') cells.is(`degrees of freedom of ${name}`, free, test['df2']);
    if (se <= 0) continue;
    cells.is(`difference of ${name}, in the middle of its limits`, d, (low + high) / 2);
    cells.p(`p by Tukey of ${name}`, p, studentizedRangeAbove((Math.SQRT2 * Math.abs(d)) / se, k, free));
    const reach = (high - low) / 2 / se;
    const key = `${reach.toPrecision(9)} ${free.toPrecision(9)}`;
    // Most pairs share one; a range is dear to work out.
    const fits =
      critical.get(key) ?? Math.abs(studentizedRangeAbove(Math.SQRT2 * reach, k, free) - alpha) < 1e-6;
    critical.set(key, fits);
    if (!fits)
      cells.fault(`limits of ${name} are ${low} and ${high}, which do not hold at ${alpha} for all pairs`);
    if (shown !== undefined && trust === 'means' && typeof p === 'number')
      cells.is(`whether ${name} differ`, pair['differs'], shown && p <= alpha);
  }
}

/** Holm over all attributes planned: exact where all are told, and not below p elsewhere. */
function checkAdjusted(lists: readonly List[], planned: number, part: PartOf, cells: Cells): void {
  if (cells.coarse) return;
  for (const key of ['verdict', 'test', 'ranks', 'link'] as const) {
    const p = lists.map((list) => numberOf((list[key] as Fields | null | undefined)?.['p']));
    const adjusted = holm(p, planned);
    lists.forEach((list, at) => {
      const told = numberOf((list[key] as Fields | null | undefined)?.['adjusted']);
      if (told === null) return;
      const name = `adjusted p of ${list.name} (${key})`;
      if (lists.length === planned) cells.p(name, told, adjusted[at]);
      else cells.within(name, told, p[at] ?? 0, 1);
      if (key === 'verdict')
        cells.is(`whether ${list.name} was shown to differ`, list['shown'], told <= part.settings.alpha);
    });
  }
}

/** Each sample less the hidden control; p of one comparison, and by Holm over all where it is Holm. */
function checkControl(
  { comparisons, settings, verdict, control }: PartOf,
  lists: readonly List[],
  span: Span,
  cells: Cells,
): void {
  const rows = comparisons?.rows ?? [];
  const holmed = comparisons?.['adjustment'] === 'holm';
  checkAgainst(rows, lists[0], control, cells);
  const alone = rows.map((row) => {
    const [difference, lower, upper, error, df, t] = [
      'difference',
      'lower',
      'upper',
      'standardError',
      'df',
      't',
    ].map((key) => numberOf(row[key])) as (number | null)[];
    const name = `${row.sample} less the control`;
    if ([difference, lower, upper, error, df, t].some((value) => typeof value !== 'number')) return null;
    if (cells.coarse) {
      cells.within(`difference of ${name}`, difference, Number(lower) - span.step, Number(upper) + span.step);
      return null;
    }
    cells.is(
      `difference of ${name}, in the middle of its limits`,
      difference,
      (Number(lower) + Number(upper)) / 2,
    );
    cells.is(`t of ${name}`, t, Number(difference) / Number(error));
    const p = studentBoth(Number(t), Number(df));
    cells.p(`p of ${name}`, row['p'], p);
    const risk = settings.alpha / rows.length / 2;
    if (holmed)
      cells.is(
        `upper limit of ${name}`,
        upper,
        Number(difference) + studentQuantile(1 - risk, Number(df)) * Number(error),
      );
    else cells.within(`adjusted p of ${name}`, row['adjusted'], p, Math.min(1, p * rows.length));
    const shown = numberOf(verdict?.['p']);
    const adjusted = numberOf(row['adjusted']);
    if (shown !== null && adjusted !== null)
      cells.is(
        `whether ${name} differs`,
        row['differs'],
        shown <= settings.alpha && adjusted <= settings.alpha,
      );
    return p;
  });
  if (holmed)
    holm(alone).forEach(
      (p, at) => p !== null && cells.p(`adjusted p of ${rows[at]?.sample}`, rows[at]?.['adjusted'], p),
    );
}

/** Differences from the means told, and p by ranks (Holm over samples) from mean ranks. */
function checkAgainst(
  rows: readonly (Fields & { sample: string })[],
  list: List | undefined,
  control: string | undefined,
  cells: Cells,
): void {
  if (cells.coarse || !list) return;
  const meanOf = (key: unknown): unknown => {
    const one = list.samples.find(({ sample }) => sample === key);
    return list.test?.['by'] === 'anova' ? one?.mean : one?.estimated?.['mean'];
  };
  const own = meanOf(control);
  for (const row of rows) {
    const mean = meanOf(row.sample);
    if (typeof mean === 'number' && typeof own === 'number')
      cells.is(`difference of ${row.sample} less the control`, row['difference'], mean - own);
  }
  const { ranks } = list;
  const people = numberOf(ranks?.['assessors']);
  if (!ranks || ranks['by'] !== 'friedman' || people === null) return;
  const middle = (ranks.samples.length + 1) / 2;
  const off = new Map(
    ranks.samples.map(({ sample, meanRank }) => [sample, people * (Number(meanRank) - middle)]),
  );
  const scale = rankScale([...off.values()], numberOf(ranks['chiSquare']));
  if (scale === null) return;
  const alone = rows.map(({ sample }) => {
    const apart = Number(off.get(sample)) - Number(off.get(control ?? ''));
    return 2 * normalBelow(-Math.abs(apart) / scale);
  });
  holm(alone).forEach((p, at) => cells.p(`p by ranks of ${rows[at]?.sample}`, rows[at]?.['pRanks'], p));
}
