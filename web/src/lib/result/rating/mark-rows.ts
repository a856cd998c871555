import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import type { SampleFacts } from '@oddglass/shared/contracts/result-common.ts';
import type { ProfileRow } from '#lib/plot/mark-profile.ts';
import { asChosen, countOf, decimals } from '#lib/text/numbers.ts';
import type { PlanRow } from '../plan-rows.ts';
import type { RawNumber } from '../raw-numbers.ts';

/** Letters of a sample; null where no difference was shown. */
export function lettersFor(figures: MarkFigures, key: string): string | null {
  if (!figures.shown) return null;
  const own = figures.samples.find(({ sample }) => sample === key)?.letters ?? null;
  // In publications made before, letters by ranks stand with the ranks alone.
  return figures.trust === 'ranks'
    ? (figures.ranks?.samples.find(({ sample }) => sample === key)?.letters ?? own)
    : own;
}

/** One list of marks as a row of the profile. */
export function profileRow(
  name: string,
  figures: MarkFigures,
  samples: readonly SampleFacts[],
  places: number,
): ProfileRow {
  return {
    name,
    samples: samples.flatMap(({ key, name: sample }, place) => {
      const own = figures.samples.find((row) => row.sample === key);
      const mean = own?.estimated?.mean ?? own?.mean ?? null;
      if (mean === null) return [];
      const letters = lettersFor(figures, key);
      return [
        {
          place,
          name: sample,
          mean,
          lower: own?.estimated?.lower ?? null,
          upper: own?.estimated?.upper ?? null,
          text: `${decimals(mean, places)}${letters === null ? '' : ` ${letters}`}`,
        },
      ];
    }),
  };
}

/** The profile for those who do not see it. */
export function profileInWords(rows: readonly ProfileRow[], places: number): string {
  const said = rows.map(({ name, samples }) => {
    const means = samples.map(({ name: sample, mean, lower, upper }) => {
      const limits =
        lower === null || upper === null ? '' : ` (${decimals(lower, places)} to ${decimals(upper, places)})`;
      return `${sample} ${decimals(mean, places)}${limits}`;
    });
    return `${name === '' ? '' : `${name}: `}${means.join(', ')}`;
  });
  return `Means with 95 % intervals. ${said.join('; ')}.`;
}

/** What was fixed before the first sip, alike for all parts of marks. */
export function marksFixed(
  settings: { cups: string; replicates: number; cupsEach: number | null; alpha: number },
  samples: readonly SampleFacts[],
): PlanRow[] {
  return [
    { name: 'alpha', value: asChosen(settings.alpha) },
    { name: 'samples', value: countOf(samples.length) },
    { name: 'cups', value: settings.cups === 'before' ? 'those of the part before' : 'its own' },
    { name: 'samples per assessor', value: settings.cupsEach === null ? 'all' : countOf(settings.cupsEach) },
    { name: 'trays per assessor', value: countOf(settings.replicates) },
  ];
}

/** Every computed number of one list of marks, unrounded. */
export function markNumbers(
  label: string,
  figures: MarkFigures,
  samples: readonly SampleFacts[],
): RawNumber[] {
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const { verdict, test, spread, effect, checks, ranks, link, repeatability } = figures;
  const to = label === '' ? '' : `${label}, `;
  const rows: RawNumber[] = figures.samples.flatMap(({ sample, mean, estimated }) => [
    { name: `${to}${nameOf(sample)}: mean of marks`, value: mean },
    { name: `${to}${nameOf(sample)}: estimated mean`, value: estimated?.mean ?? null },
    { name: `${to}${nameOf(sample)}: lower limit`, value: estimated?.lower ?? null },
    { name: `${to}${nameOf(sample)}: upper limit`, value: estimated?.upper ?? null },
  ]);
  if (verdict) {
    rows.push(
      { name: `${to}share of samples within people, marks`, value: verdict.marks },
      { name: `${to}share of samples within people, ranks`, value: verdict.ranks },
      { name: `${to}p, permutation within people`, value: verdict.p },
      { name: `${to}p, permutation, Holm`, value: verdict.adjusted },
    );
  }
  if (test) {
    rows.push(
      { name: `${to}F`, value: test.f },
      { name: `${to}numerator df`, value: test.df1 },
      { name: `${to}denominator df`, value: test.df2 },
      { name: `${to}p of F`, value: test.p },
      { name: `${to}p of F, Holm`, value: test.adjusted },
    );
  }
  for (const { first, second, difference, lower, upper, pTukey } of figures.pairs) {
    const pair = `${to}${nameOf(first)} less ${nameOf(second)}`;
    rows.push(
      { name: `${pair}: difference`, value: difference },
      { name: `${pair}: lower limit`, value: lower },
      { name: `${pair}: upper limit`, value: upper },
      { name: `${pair}: p, Tukey`, value: pTukey },
    );
  }
  if (spread) {
    rows.push(
      { name: `${to}SD of assessors`, value: spread.assessor },
      { name: `${to}SD of assessor by sample`, value: spread.interaction },
      { name: `${to}residual SD`, value: spread.residual },
    );
  }
  rows.push(
    { name: `${to}partial epsilon squared`, value: effect.partialEpsilonSquared },
    { name: `${to}marginal R squared`, value: effect.marginalR2 },
  );
  if (checks) {
    rows.push(
      { name: `${to}p, normal residuals`, value: checks.normalP },
      { name: `${to}p, equal spread`, value: checks.spreadP },
    );
  }
  if (ranks) {
    rows.push(
      { name: `${to}rank statistic`, value: ranks.chiSquare },
      { name: `${to}p by ranks`, value: ranks.p },
      { name: `${to}p by ranks, Holm`, value: ranks.adjusted },
    );
  }
  if (link) rows.push({ name: `${to}p by ordered categories`, value: link.p });
  if (repeatability) rows.push({ name: `${to}repeatability SD`, value: repeatability.standardDeviation });
  return rows;
}
