import type { DescriptionResult, MapPoint } from '../../contracts/result-description.ts';
import type { CorrespondencePoint } from '../../stats/descriptor/correspondence.ts';
import { correspondenceEllipses } from '../../stats/descriptor/correspondence-ellipses.ts';
import { profileTest } from '../../stats/descriptor/profile-test.ts';
import { levelOfGate, levelWords } from './gates.ts';
import { firstAnswer, type DescriptionTable } from './table.ts';
import { LEVEL, type WordsAsked } from './words.ts';
import { inWords, pEquals, percent } from '../../ground/phrases.ts';

type CorrespondenceMap = NonNullable<DescriptionResult['map']>;

/** Share of the answers in which a word must have been checked to be on the map; rare words pull its axes. Our own; no source. */
const MIN_SHARE = 0.05;
const MIN_COUNT = 2;
/** A second axis with less of the inertia than this is no axis to draw a plane on. Our own; no source. */
const MIN_AXIS = 0.01;
const RESAMPLES = 500;
/** Dealings of the test of all words; fewer where there are many marks to deal, so that a page need not wait. */
const DEALINGS = 1999;
const DEALINGS_OF_MANY = 999;
const MANY_MARKS = 3000;
const MAX_AXES = 3;

function ballotsOf({ cups }: DescriptionTable, ids: readonly string[]): (number[] | null)[][] {
  return cups.map((row) =>
    row.map((own) => {
      const answer = firstAnswer(own);
      if (!answer) return null;
      const checked = new Set(answer.words.map(({ id }) => id));
      return ids.map((id) => (checked.has(id) ? 1 : 0));
    }),
  );
}

function timesChecked({ cups }: DescriptionTable): { times: Map<string, number>; answers: number } {
  const times = new Map<string, number>();
  let answers = 0;
  for (const own of cups.flat()) {
    const answer = firstAnswer(own);
    if (!answer) continue;
    answers += 1;
    for (const { id } of answer.words) times.set(id, (times.get(id) ?? 0) + 1);
  }
  return { times, answers };
}

/** Times a word must have been checked to be on the map and in the figures on liking. */
export function leastChecked(table: DescriptionTable): number {
  return Math.max(MIN_COUNT, Math.ceil(MIN_SHARE * timesChecked(table).answers));
}

/** Words checked often enough, in the order offered. */
export function frequentWords({ table, offered }: WordsAsked): WordsAsked['offered'] {
  const { times } = timesChecked(table);
  const least = leastChecked(table);
  return offered.filter(({ id }) => (times.get(id) ?? 0) >= least);
}

/** Do the samples differ in their words at all? Over every word checked, ballots dealt within assessors; without its verdict. */
export function profileOf({
  table,
  offered,
  random,
}: WordsAsked): (NonNullable<DescriptionResult['profile']> & { words: number }) | null {
  const { times } = timesChecked(table);
  const ids = offered.filter(({ id }) => times.has(id)).map(({ id }) => id);
  const people = table.cups.filter((row) => row.filter((own) => own.length > 0).length > 1).length;
  // Of one word offered the test of the word is the test of all.
  if (table.samples.length < 2 || people < 2 || ids.length === 0 || offered.length < 2) return null;
  const marks = [...times.values()].reduce((sum, count) => sum + count, 0);
  const { p, chiSquare, permutations, assessors, informative } = profileTest({
    ballots: ballotsOf(table, ids),
    random: random('profiles'),
    permutations: marks > MANY_MARKS ? DEALINGS_OF_MANY : DEALINGS,
  });
  return {
    p,
    chiSquare,
    permutations,
    assessors,
    informative,
    shown: false,
    words: ids.length,
    reading: '',
  };
}

/**
 * The test of all words together with its verdict, at the level that the other gates of the part leave it.
 * `others`: smallest adjusted p of the words of each other gate; null where there is none.
 */
export function profileVerdict(
  profile: NonNullable<DescriptionResult['profile']> & { words: number },
  others: readonly (number | null)[],
  alpha: number,
): NonNullable<DescriptionResult['profile']> {
  const { words, ...facts } = profile;
  const level = levelOfGate(others, alpha);
  const shown = profile.p <= level;
  const at = level < alpha ? levelWords(level, alpha) : `alpha fixed beforehand at ${alpha}`;
  const verdict = shown
    ? `the samples differ in how they were described (${pEquals(profile.p)}, ${at})`
    : `no difference in how the samples were described was demonstrated (${pEquals(profile.p)}, ${at})`;
  return {
    ...facts,
    shown,
    reading: `Over ${words === 1 ? 'the one checked word' : `all ${words} checked words together`}, ${verdict}.`,
  };
}

/** Samples and words on one map, and how far samples would move with other assessors; null when there is nothing to map. */
export function mapOf(asked: WordsAsked): DescriptionResult['map'] {
  const { table, offered, random } = asked;
  const { samples } = table;
  const { times } = timesChecked(table);
  const threshold = leastChecked(table);
  const shown = frequentWords(asked);
  const rare = offered
    .filter(({ id }) => times.has(id) && !shown.some((word) => word.id === id))
    .map(({ word }) => word);
  if (samples.length < 2 || shown.length === 0) return null;
  const { map, ellipses, resamples } = correspondenceEllipses({
    ballots: ballotsOf(
      table,
      shown.map(({ id }) => id),
    ),
    level: LEVEL,
    resamples: RESAMPLES,
    random: random('map'),
  });
  const drawn = drawnAs(map.axes);
  const axes = drawn === 'plane' ? 2 : 1;
  const point = (from: CorrespondencePoint, key: string, name: string): MapPoint => ({
    key,
    name,
    coordinates: from.coordinates.slice(0, MAX_AXES),
    mass: from.mass,
    inertia: from.inertia,
    quality:
      from.quality &&
      Math.min(
        1,
        from.quality.slice(0, axes).reduce((sum, part) => sum + part, 0),
      ),
  });
  const keyOf = (index: number): string => samples[index]?.key ?? '';
  return {
    drawn,
    reading: mapReading(drawn, map.axes, { samples: map.rows.length, words: map.columns.length }),
    // One axis can add up to a rounding more than all.
    axes: map.axes.map(({ inertia, share }) => ({ inertia, share: Math.min(1, share) })),
    totalInertia: map.totalInertia,
    samples: map.rows.map((row) => point(row, keyOf(row.index), samples[row.index]?.name ?? '')),
    words: map.columns.map((column) => {
      const word = shown[column.index];
      return point(column, word?.id ?? '', word?.word ?? '');
    }),
    ellipses:
      drawn === 'plane' && ellipses
        ? ellipses.map(({ index, centre, halfAxes, angle }) => ({
            sample: keyOf(index),
            centre,
            halfAxes,
            angle,
          }))
        : null,
    level: LEVEL,
    resamples,
    threshold,
    rare,
    emptySamples: map.emptyRows.map((index) => samples[index]?.name ?? ''),
  };
}

function drawnAs(axes: CorrespondenceMap['axes']): CorrespondenceMap['drawn'] {
  if (axes.length === 0) return 'none';
  return (axes[1]?.share ?? 0) >= MIN_AXIS ? 'plane' : 'line';
}

function mapReading(
  drawn: CorrespondenceMap['drawn'],
  axes: CorrespondenceMap['axes'],
  { samples, words }: { samples: number; words: number },
): string {
  if (drawn === 'none') {
    return 'The samples were given these words in the same proportions: there is no direction in which to draw them apart.';
  }
  const first = percent(axes[0]?.share ?? 0);
  if (drawn === 'plane') {
    const both = (axes[0]?.share ?? 0) + (axes[1]?.share ?? 0);
    return `The two axes hold ${percent(both)} of what sets the profiles apart (${first} and ${percent(axes[1]?.share ?? 0)}).`;
  }
  if (axes.length > 1) {
    return `One axis holds ${first} of what sets the profiles apart, so it is drawn as a line; a plane would show chance as a direction.`;
  }
  const why =
    samples <= words ? `${inWords(samples)} samples` : `${inWords(words)} ${words === 1 ? 'word' : 'words'}`;
  return `With ${why} all that sets the profiles apart lies on one axis, so it is drawn as a line: a plane would show a direction that is not there.`;
}
