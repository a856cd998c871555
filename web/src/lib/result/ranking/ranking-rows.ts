import type { RankingResult } from '@oddglass/shared/contracts/result-ranking.ts';
import type { RankRow } from '#lib/plot/rank-dots.ts';
import { asChosen, countOf, decimals } from '#lib/text/numbers.ts';
import type { PlanRow } from '../plan-rows.ts';
import type { RawNumber } from '../raw-numbers.ts';

/** Names of the test as the page says them. */
export const TEST_NAMES: Readonly<Record<NonNullable<RankingResult['test']>['kind'], string>> = {
  friedman: 'Friedman test',
  incomplete: 'rank test for incomplete blocks',
  sign: 'sign test, two-sided',
};

/** A rank sum bare when whole, with its decimal when ties share a place. */
export function rankText(value: number): string {
  return Number.isInteger(value) ? decimals(value, 0) : decimals(value, Number.isInteger(value * 2) ? 1 : 2);
}

/** Samples that somebody ranked, as rows of the plot. */
export function rankRows({ samples }: RankingResult): RankRow[] {
  return samples.flatMap(({ name, meanRank, rankSum, letters, ranks }, place) =>
    meanRank === null || rankSum === null
      ? []
      : [{ name, place, meanRank, sum: rankText(rankSum), letters, ranks }],
  );
}

/** The largest rank anybody could give: all samples, or the most a tray held. */
export function highestRank({ samples, ranked, test }: RankingResult): number {
  const given = samples.flatMap(({ ranks }) => ranks.map(({ rank }) => rank));
  const complete = test?.kind !== 'incomplete' && ranked.leftOut === 0;
  return Math.ceil(Math.max(2, complete ? samples.length : 0, ...given));
}

/** Critical difference of mean ranks; null when rank sums have none. */
export function criticalMeanRank({ pairs, ranked }: RankingResult): number | null {
  return pairs?.critical === null || pairs === null || ranked.assessors === 0
    ? null
    : pairs.critical / ranked.assessors;
}

export function ranksInWords(result: RankingResult): string {
  const rows = rankRows(result).sort((a, b) => b.meanRank - a.meanRank);
  const said = rows.map(
    ({ name, meanRank, sum, letters }) =>
      `${name}: mean rank ${decimals(meanRank, 2)}, rank sum ${sum}${letters === null ? '' : `, ${letters}`}`,
  );
  return `Mean ranks from least (1) to most ${result.settings.attribute}. ${said.join('; ')}.`;
}

/** What a ranking fixed before the first sip. */
export function rankingFixed({ settings, samples }: RankingResult): PlanRow[] {
  return [
    { name: 'question', value: `order from least to most ${settings.attribute}` },
    { name: 'alpha', value: asChosen(settings.alpha) },
    { name: 'samples', value: countOf(samples.length) },
    { name: 'cups', value: settings.cups === 'before' ? 'those of the part before' : 'its own' },
    { name: 'samples per assessor', value: settings.cupsEach === null ? 'all' : countOf(settings.cupsEach) },
    { name: 'trays per assessor', value: countOf(settings.replicates) },
  ];
}

/** Every computed number, unrounded. */
export function rankingNumbers({ samples, test, pairs, agreement, duplicates }: RankingResult): RawNumber[] {
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const rows: RawNumber[] = samples.flatMap(({ name, rankSum, meanRank }) => [
    { name: `${name}: rank sum`, value: rankSum },
    { name: `${name}: mean rank`, value: meanRank },
  ]);
  if (test) {
    rows.push(
      { name: 'statistic', value: test.chiSquare },
      { name: 'degrees of freedom', value: test.df },
      { name: `p (${test.route})`, value: test.p },
      { name: 'p by chi-square', value: test.pChiSquare },
    );
    if (test.uncorrected !== null)
      rows.push({ name: 'statistic without the correction for ties', value: test.uncorrected });
    if (test.permutations !== null) rows.push({ name: 'random orders', value: test.permutations });
    if (test.imanDavenport) {
      rows.push(
        { name: 'Iman-Davenport F', value: test.imanDavenport.f },
        { name: 'Iman-Davenport p', value: test.imanDavenport.p },
      );
    }
    if (test.smallestP !== null) rows.push({ name: 'smallest p possible', value: test.smallestP });
  }
  if (pairs && pairs.critical !== null)
    rows.push({ name: 'critical difference of rank sums', value: pairs.critical });
  for (const { first, second, difference, pUnadjusted, pHolm, pNemenyi } of pairs?.rows ?? []) {
    const pair = `${nameOf(first)} and ${nameOf(second)}`;
    rows.push(
      { name: `${pair}: difference`, value: difference },
      { name: `${pair}: unadjusted p`, value: pUnadjusted },
      { name: `${pair}: p by Holm`, value: pHolm },
    );
    if (pNemenyi !== null) rows.push({ name: `${pair}: p by Nemenyi`, value: pNemenyi });
  }
  if (agreement) {
    rows.push(
      { name: 'Kendall’s W', value: agreement.w },
      { name: 'mean rank correlation of two people', value: agreement.meanSpearman },
    );
  }
  for (const { name, meanApart, byChance } of duplicates) {
    rows.push(
      { name: `${name}, two cups: mean places apart`, value: meanApart },
      { name: `${name}, two cups: by chance`, value: byChance },
    );
  }
  return rows;
}
