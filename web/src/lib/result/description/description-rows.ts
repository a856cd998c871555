import type { DescribedWord, DescriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import type { SharesRow } from '#lib/plot/word-shares.ts';
import { asChosen, countOf, decimals, percent } from '#lib/text/numbers.ts';
import type { PlanRow } from '../plan-rows.ts';
import type { RawNumber } from '../raw-numbers.ts';

/** Fewest words the plot shows when fewer differ, and most. */
const MIN_PLOTTED = 6;
const MAX_PLOTTED = 12;
/** Words in the open part of the table when fewer differ. */
const MIN_OPEN = 8;

/** 'Cool against Warm', '5 samples'. */
export function comparedWords(samples: readonly { name: string }[]): string {
  if (samples.length > 3) return `${countOf(samples.length)} samples`;
  return samples.map(({ name }) => name).join(' against ');
}

function differing(words: readonly DescribedWord[]): number {
  return words.filter(({ test }) => test?.differs).length;
}

/** The words of the plot: those that differ, and the nearest to it. */
export function plottedWords({ words }: DescriptionResult): DescribedWord[] {
  return words.slice(0, Math.min(MAX_PLOTTED, Math.max(MIN_PLOTTED, differing(words))));
}

/** Words that stand open in the table, and those that are folded away. */
export function tableWords({ words }: DescriptionResult): { open: DescribedWord[]; folded: DescribedWord[] } {
  const most = Math.max(MIN_OPEN, differing(words));
  // Two lines more are shorter than a fold.
  const at = words.length <= most + 2 ? words.length : most;
  return { open: words.slice(0, at), folded: words.slice(at) };
}

export function sharesRows(words: readonly DescribedWord[]): SharesRow[] {
  return words.map(({ word, shares }) => ({ name: word, shares }));
}

/** The shares of the plot in words. */
export function sharesInWords(
  words: readonly DescribedWord[],
  samples: DescriptionResult['samples'],
): string {
  const lines = words.map(
    ({ word, shares }) =>
      `${word}: ${shares.map(({ checked, asked }, place) => `${samples[place]?.name ?? ''} ${checked} of ${asked}`).join(', ')}`,
  );
  return `Share of people who checked each word, by sample. ${lines.join('. ')}.`;
}

/** Names of the axes of a map with what they hold. */
export function axisName(map: NonNullable<DescriptionResult['map']>, axis: 0 | 1): string {
  return `${axis === 0 ? '1st' : '2nd'} axis, ${percent(map.axes[axis]?.share ?? 0)} of inertia`;
}

/** The map in words: where each sample lies. */
export function mapInWords(map: NonNullable<DescriptionResult['map']>): string {
  const axes = map.drawn === 'plane' ? 2 : 1;
  const at = (coordinates: readonly number[]): string =>
    coordinates
      .slice(0, axes)
      .map((value) => decimals(value, 2))
      .join(' and ');
  const samples = map.samples.map(({ name, coordinates }) => `${name} at ${at(coordinates)}`).join('; ');
  return `${map.drawn === 'plane' ? 'Map' : 'Line'} of ${map.samples.length} samples and ${map.words.length} words. ${samples}. Words are in the table below.`;
}

/** Words of the map, those that set it up most first. */
export function tellingFirst(points: NonNullable<DescriptionResult['map']>['words']) {
  return points.toSorted((a, b) => b.inertia * (b.quality ?? 0) - a.inertia * (a.quality ?? 0));
}

/** What a description fixed before the first sip. */
export function descriptionFixed({ settings, family, samples, late }: DescriptionResult): PlanRow[] {
  return [
    { name: 'question', value: 'which words fit each cup' },
    { name: 'words offered', value: countOf(family.tests) },
    { name: 'intensity of checked words', value: settings.intensity ? 'asked' : 'not asked' },
    {
      name: 'late question',
      value: late
        ? `${countOf(late.family.tests)} ${late.family.tests === 1 ? 'word' : 'words'}, after ${countOf(late.seconds)} seconds`
        : 'not asked',
    },
    { name: 'alpha', value: asChosen(settings.alpha) },
    { name: 'samples', value: countOf(samples.length) },
    { name: 'cups', value: settings.cups === 'before' ? 'those of the part before' : 'its own' },
    { name: 'samples per assessor', value: settings.cupsEach === null ? 'all' : countOf(settings.cupsEach) },
    { name: 'trays per assessor', value: countOf(settings.replicates) },
  ];
}

/** Every computed number; limits of shares only of the words in the plot, since counts give them again. */
export function descriptionNumbers(result: DescriptionResult): RawNumber[] {
  const { samples, words, profile, map, liking, level } = result;
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const rows: RawNumber[] = [
    { name: 'level of intervals', value: level },
    { name: 'words offered', value: result.family.tests },
  ];
  if (profile) {
    rows.push(
      { name: 'all words together: p', value: profile.p },
      { name: 'all words together: chi-square', value: profile.chiSquare },
      { name: 'all words together: random dealings', value: profile.permutations },
    );
  }
  for (const { word, test, pairs } of words) {
    if (test) {
      rows.push(
        { name: `${word}: Cochran’s Q`, value: test.q },
        { name: `${word}: p (${test.route})`, value: test.p },
        { name: `${word}: adjusted p`, value: test.pAdjusted },
      );
    }
    for (const { first, second, p, pAdjusted } of pairs) {
      rows.push(
        { name: `${word}, ${nameOf(first)} and ${nameOf(second)}: p`, value: p },
        { name: `${word}, ${nameOf(first)} and ${nameOf(second)}: adjusted p`, value: pAdjusted },
      );
    }
  }
  for (const { word, shares } of plottedWords(result)) {
    for (const { sample, share, lower, upper } of shares) {
      rows.push(
        { name: `${word}, ${nameOf(sample)}: share`, value: share },
        { name: `${word}, ${nameOf(sample)}: lower limit`, value: lower },
        { name: `${word}, ${nameOf(sample)}: upper limit`, value: upper },
      );
    }
  }
  for (const { word, test } of result.late?.words ?? []) {
    if (!test) continue;
    const name = `${word}, after ${result.late?.seconds} s`;
    rows.push(
      { name: `${name}: Cochran’s Q`, value: test.q },
      { name: `${name}: p (${test.route})`, value: test.p },
      { name: `${name}: adjusted p`, value: test.pAdjusted },
    );
  }
  if (map) rows.push(...mapNumbers(map, nameOf));
  for (const { word, lift, within, pAdjusted } of liking?.rows ?? []) {
    rows.push(
      { name: `liking with ${word}: difference`, value: lift.estimate },
      { name: `liking with ${word}: within assessors`, value: within.estimate },
      { name: `liking with ${word}: lower limit`, value: within.lower },
      { name: `liking with ${word}: upper limit`, value: within.upper },
      { name: `liking with ${word}: adjusted p`, value: pAdjusted },
    );
  }
  return rows;
}

function mapNumbers(
  map: NonNullable<DescriptionResult['map']>,
  nameOf: (key: string) => string,
): RawNumber[] {
  const rows: RawNumber[] = [{ name: 'map: total inertia', value: map.totalInertia }];
  map.axes.forEach(({ inertia, share }, axis) =>
    rows.push(
      { name: `map: inertia of axis ${axis + 1}`, value: inertia },
      { name: `map: share of axis ${axis + 1}`, value: share },
    ),
  );
  for (const { name, coordinates } of [...map.samples, ...map.words]) {
    // Axes beyond those drawn are in the document.
    coordinates
      .slice(0, map.drawn === 'plane' ? 2 : 1)
      .forEach((value, axis) => rows.push({ name: `map: ${name}, axis ${axis + 1}`, value }));
  }
  for (const { sample, halfAxes, angle } of map.ellipses ?? []) {
    rows.push(
      { name: `map: ellipse of ${nameOf(sample)}, longer half axis`, value: halfAxes[0] },
      { name: `map: ellipse of ${nameOf(sample)}, shorter half axis`, value: halfAxes[1] },
      { name: `map: ellipse of ${nameOf(sample)}, angle in radians`, value: angle },
    );
  }
  return rows;
}
