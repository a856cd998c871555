import { binomialFrom, chiSquareAbove, fAbove, holm, normalBelow } from './verify-distributions.ts';
import { numberOf, type PartOf } from './verify-format.ts';
import { checkDrawn, rankScale, whole, type Cells, type Look } from './verify-report.ts';
import { studentizedRangeAbove } from './verify-thurstone.ts';

// The verifier's figures of a ranking (verify.ts): sums of ranks against how often each rank was given, and what follows.

interface RankedSample {
  name: string;
  key: string;
  assessors: number | null;
  rankSum?: number | null;
  meanRank: number | null;
  ranks: { rank: number; people: number | null }[];
}

export function checkRanking(part: PartOf, look: Look): void {
  const samples = (part.samples ?? []) as unknown as RankedSample[];
  const { ranked, test } = part;
  if (!ranked) return;
  // Ranks of incomplete blocks have no common sum.
  const complete = test !== undefined && test !== null && test.kind !== 'incomplete';
  look('people and their ranks', (cells) => checkRanks(part, samples, complete, cells));
  if (test) look('test of ranks', (cells) => checkTest(part, samples, cells));
  look('pairs of ranks', (cells) => checkPairs(part, samples, cells));
  look('agreement', (cells) => {
    const { agreement } = part;
    if (!agreement) return;
    cells.is('people whose order agrees', agreement['assessors'], ranked.assessors);
    cells.is('samples whose order agrees', agreement['samples'], samples.length);
    const square = numberOf((test as unknown as Record<string, unknown> | null)?.['chiSquare']);
    if (square === null) return;
    const w = square / (ranked.assessors * (samples.length - 1));
    cells.is('Kendall’s W', agreement['w'], w);
    cells.is(
      'mean Spearman correlation',
      agreement['meanSpearman'],
      (ranked.assessors * w - 1) / (ranked.assessors - 1),
    );
  });
}

function checkRanks(part: PartOf, samples: readonly RankedSample[], complete: boolean, cells: Cells): void {
  const { served, ranked } = part;
  const k = samples.length;
  cells.count('people who ranked', ranked?.assessors, served.assessors);
  cells.count('people left out of the test', ranked?.leftOut, served.assessors - (ranked?.assessors ?? 0));
  for (const { name, assessors, rankSum = null, meanRank, ranks } of samples) {
    cells.count(`people who ranked ${name}`, assessors, served.assessors);
    cells.within(`mean rank of ${name}`, meanRank, 1, k);
    for (const { rank, people } of ranks) {
      cells.count(`people who gave ${name} rank ${rank}`, people, assessors ?? Infinity);
      // Ties share the mean of their places.
      if (!Number.isInteger(2 * rank) || rank < 1 || rank > k)
        cells.fault(`${name} has a rank ${rank}, of ${k} samples`);
    }
    if (ranks.length > 0) {
      cells.is(`people over ranks of ${name}`, assessors, whole(ranks.map(({ people }) => people)));
      const sum = whole(ranks.map(({ rank, people }) => (people === null ? null : rank * people)));
      if (sum !== null) cells.is(`rank sum of ${name}`, rankSum, sum);
    }
    if (rankSum !== null && assessors) cells.is(`mean rank of ${name}`, meanRank, rankSum / assessors);
    if (complete) cells.is(`people who ranked ${name}`, assessors, ranked?.assessors);
  }
  const sum = whole(samples.map(({ rankSum }) => rankSum));
  if (complete && sum !== null)
    cells.is('rank sums together', sum, ((ranked?.assessors ?? 0) * k * (k + 1)) / 2);
}

function checkTest(part: PartOf, samples: readonly RankedSample[], cells: Cells): void {
  const test = part.test as unknown as Record<string, unknown> & { kind: string };
  const [n, k] = [part.ranked?.assessors ?? 0, samples.length];
  const df = numberOf(test['df']) ?? k - 1;
  // Blocks that nothing joins have fewer.
  if (test.kind === 'incomplete') cells.count('degrees of freedom', df, k - 1);
  else cells.is('degrees of freedom', df, k - 1);
  const square = numberOf(test['chiSquare']);
  const smooth = square === null ? null : chiSquareAbove(square, df);
  if (smooth !== null) cells.p('p by chi-square', test['pChiSquare'], smooth);
  if (test['route'] === 'chi-square') cells.p('p', test['p'], test['pChiSquare']);
  checkDrawn(test, cells);
  const shown = numberOf(test['p']);
  if (shown !== null && !cells.coarse)
    cells.is('whether a difference is shown', test['shown'], shown <= part.settings.alpha);
  if (test.kind === 'incomplete') return;
  const sums = samples.map(({ rankSum }) => rankSum ?? null);
  const squares = whole(sums.map((one) => (one === null ? null : one ** 2)));
  const plain = squares === null ? null : (12 / (n * k * (k + 1))) * squares - 3 * n * (k + 1);
  if (plain !== null) cells.is('Friedman’s chi-square without ties', test['uncorrected'], plain);
  // Only where cups were averaged can two samples stand level.
  if (plain !== null && part.ranked?.averaged === false) cells.is('Friedman’s chi-square', square, plain);
  else if (plain !== null) cells.within('Friedman’s chi-square', square, plain, n * (k - 1));
  cells.p('smallest p there could be', test['smallestP'], factorial(k) ** (1 - n));
  const other = test['imanDavenport'] as Record<string, unknown> | null;
  if (!other || square === null) return;
  const f = ((n - 1) * square) / (n * (k - 1) - square);
  cells.is('Iman and Davenport’s F', other['f'], f);
  cells.is('its upper degrees of freedom', other['df1'], k - 1);
  cells.is('its lower degrees of freedom', other['df2'], (k - 1) * (n - 1));
  cells.p('its p', other['p'], fAbove(f, k - 1, (k - 1) * (n - 1)));
}

const factorial = (k: number): number => (k <= 1 ? 1 : k * factorial(k - 1));

function checkPairs(part: PartOf, samples: readonly RankedSample[], cells: Cells): void {
  const { pairs, sign, settings, ranked } = part;
  const [n, k] = [ranked?.assessors ?? 0, samples.length];
  if (sign) {
    const [over, under, tied] = ['firstHigher', 'secondHigher', 'tied'].map((key) => numberOf(sign[key]));
    const all = whole([over, under, tied]);
    if (all !== null) cells.is('people of the sign test', all, n);
    if (over !== null && under !== null && over !== undefined && under !== undefined) {
      const p = Math.min(1, 2 * binomialFrom(Math.max(over, under), over + under, 0.5));
      cells.p('p of the sign test', sign['p'], p);
      const test = part.test as unknown as Record<string, unknown> | null;
      if (test?.['route'] === 'exact') cells.p('p', test['p'], p);
    }
  }
  if (!pairs) return;
  const rows = pairs.rows;
  const sumOf = (key: string): number | null => samples.find((one) => one.key === key)?.rankSum ?? null;
  const sums = samples.map(({ rankSum }) => rankSum ?? null);
  const test = part.test as unknown as Record<string, unknown> | null;
  // Ties make it smaller, which the statistic tells.
  const scale = sums.includes(null)
    ? null
    : rankScale(
        sums.map((sum) => Number(sum) - (n * (k + 1)) / 2),
        numberOf(test?.['chiSquare']),
      );
  const nemenyi = pairs['method'] === 'nemenyi';
  for (const row of rows) {
    const name = `${row.first} and ${row.second}`;
    const [one, other] = [sumOf(row.first), sumOf(row.second)];
    if (nemenyi && one !== null && other !== null)
      cells.is(`difference of rank sums of ${name}`, row['difference'], one - other);
    const difference = numberOf(row['difference']);
    if (!nemenyi || scale === null || difference === null) continue;
    const z = Math.abs(difference) / scale;
    cells.p(`unadjusted p of ${name}`, row['pUnadjusted'], 2 * normalBelow(-z));
    cells.p(`p by Nemenyi of ${name}`, row['pNemenyi'], studentizedRangeAbove(Math.SQRT2 * z, k, Infinity));
  }
  const alone = rows.map((row) => numberOf(row['pUnadjusted']));
  holm(alone).forEach((p, at) => {
    const { first, second } = rows[at] ?? { first: '', second: '' };
    if (p !== null) cells.p(`p by Holm of ${first} and ${second}`, rows[at]?.['pHolm'], p);
  });
  for (const row of rows) {
    const p = numberOf(row[nemenyi ? 'pNemenyi' : 'pHolm']);
    if (p !== null)
      cells.is(`whether ${row.first} and ${row.second} differ`, row['differs'], p <= settings.alpha);
  }
  const critical = numberOf(pairs['critical']);
  if (nemenyi && scale !== null && critical !== null)
    cells.is(
      'chance of the critical difference of rank sums',
      studentizedRangeAbove((Math.SQRT2 * critical) / scale, k, Infinity),
      settings.alpha,
    );
}
