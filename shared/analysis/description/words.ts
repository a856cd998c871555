import type { DescribedWord, DescriptionResult } from '../../contracts/result-description.ts';
import type { RandomSource } from '../../ground/random.ts';
import { cochranQ } from '../../stats/descriptor/cochran-q.ts';
import { descriptorFrequencies } from '../../stats/descriptor/frequencies.ts';
import { mcnemarPairs } from '../../stats/descriptor/mcnemar-pairs.ts';
import { benjaminiHochberg } from '../../stats/multiplicity.ts';
import { choicesOf, firstAnswer, type DescriptionTable } from './table.ts';
import { inWords, listed } from '../../ground/phrases.ts';

export const LEVEL = 0.95;

/** Words of the ballot: id, name and family, in the order offered. */
export type OfferedWords = readonly { id: string; word: string; family: string }[];

export interface WordsAsked {
  table: DescriptionTable;
  offered: OfferedWords;
  /** The risk of the part, shared by its two gates: all words together, and single words. */
  alpha: number;
  random: (purpose: string) => RandomSource;
}

/**
 * Random orders per word. With m words the smallest adjusted p is m / (orders + 1), which has to lie below alpha, or no
 * single word could ever be found.
 */
export function ordersFor(words: number, alpha: number): number {
  const enough = [1999, 4999, 9999].find((orders) => words / (orders + 1) <= 0.75 * alpha);
  return enough ?? 19_999;
}

/** Orders that reach Q after which a word needs no more: its p is known to about a tenth of itself. */
const ENOUGH = 100;
/** Steps of going through all orders that the words of a list share, some 0.1 s. */
const STEPS_OF_LIST = 1_000_000;
const STEPS_OF_WORD = 600_000;

/** Words with their tests, before it is known at which level of the part they are judged. */
export interface TestedWords {
  /** Smallest adjusted p; 1 where nobody checked any word, null where nothing can be tested. */
  least: number | null;
  judgedAt(level: number): {
    words: DescribedWord[];
    unchecked: string[];
    family: DescriptionResult['family'];
  };
}

/** Every word that was checked, with its shares and tests; judged at a level, the strongest evidence first. */
export function testedWords({ table, offered, alpha, random }: WordsAsked): TestedWords {
  const { cups } = table;
  const { places, dropped } = testedPlaces(table);
  const samples = places.flatMap((place) => table.samples[place] ?? []);
  const complete = cups.filter((row) => places.every((place) => (row[place]?.length ?? 0) > 0)).length;
  const comparable = samples.length >= 2 && complete >= 2;
  const orders = ordersFor(offered.length, alpha);
  const seen = new Set(cups.flat().flatMap((own) => firstAnswer(own)?.words.map(({ id }) => id) ?? []));
  const checkedWords = offered.filter(({ id }) => seen.has(id));
  const figures = checkedWords.map(({ id, word, family }) => {
    const rows = choicesOf(table, id);
    const shares = descriptorFrequencies({ rows, level: LEVEL }).samples.map(
      ({ chosen, asked, share, lower, upper }, place) => ({
        sample: table.samples[place]?.key ?? '',
        checked: chosen,
        asked,
        share,
        lower,
        upper,
        intensity: meanIntensity(table, id, place),
      }),
    );
    const tested = rows.map((row) => places.map((place) => row[place] ?? null));
    const test = comparable
      ? cochranQ({
          rows: tested,
          random: random(`word ${id}`),
          permutations: orders,
          enough: ENOUGH,
          mostSteps: Math.min(STEPS_OF_WORD, Math.ceil(STEPS_OF_LIST / checkedWords.length)),
        })
      : null;
    return { id, word, family, rows: tested, shares, test };
  });
  // A word that nobody checked stays in the family with p = 1.
  const { adjusted, tests } = benjaminiHochberg({
    p: figures.map(({ test }) => test?.p ?? null),
    planned: offered.length,
  });
  return {
    least: comparable ? Math.min(1, ...figures.map((_figure, index) => adjusted[index] ?? 1)) : null,
    judgedAt: (level) => {
      const words = figures.map((figure, index) =>
        describedWord(figure, { pAdjusted: adjusted[index] ?? 1, level, samples }),
      );
      words.sort(byEvidence);
      const about = { complete, leftOut: cups.length - complete };
      const names = dropped.map(({ name }) => name);
      return {
        words,
        unchecked: offered.filter(({ id }) => !seen.has(id)).map(({ word }) => word),
        family: {
          tests,
          level,
          assessors: complete,
          leftOut: about.leftOut,
          leftOutSamples: names,
          differ: words.filter(({ test }) => test?.differs).length,
          reading: familyReading(words, {
            ...about,
            tests,
            comparable,
            samples: table.samples.length,
            dropped: names,
          }),
        },
      };
    },
  };
}

/**
 * Places of the samples on which words are tested: those for which half of the people or more answered. A test needs people
 * who answered for all of them, and one sample that hardly anybody answered would leave none.
 */
function testedPlaces({ samples, cups }: DescriptionTable): {
  places: number[];
  dropped: DescriptionTable['samples'];
} {
  const places = samples.flatMap((_sample, place) => {
    const answers = cups.filter((row) => (row[place]?.length ?? 0) > 0).length;
    return answers > 0 && 2 * answers >= cups.length ? [place] : [];
  });
  // In incomplete blocks nobody has all samples: then none is to blame, and the words of none can be tested.
  if (places.length < 2) return { places: samples.map((_sample, place) => place), dropped: [] };
  return { places, dropped: samples.filter((_sample, place) => !places.includes(place)) };
}

interface WordFigures extends Pick<DescribedWord, 'id' | 'word' | 'family' | 'shares'> {
  rows: ReturnType<typeof choicesOf>;
  test: ReturnType<typeof cochranQ> | null;
}

function describedWord(
  { id, word, family, rows, shares, test }: WordFigures,
  { pAdjusted, level, samples }: { pAdjusted: number; level: number; samples: DescriptionTable['samples'] },
): DescribedWord {
  const differs = test !== null && pAdjusted <= level;
  return {
    id,
    word,
    family,
    checked: shares.reduce((sum, { checked }) => sum + checked, 0),
    shares,
    test: test && {
      q: test.q,
      df: test.df,
      p: test.p,
      route: test.route,
      permutations: test.permutations,
      informative: test.informative,
      pAdjusted,
      differs,
    },
    pairs: differs && samples.length > 2 ? pairsOf(rows, samples) : [],
  };
}

function pairsOf(
  rows: readonly (readonly (number | null)[])[],
  samples: DescriptionTable['samples'],
): DescribedWord['pairs'] {
  return mcnemarPairs({ rows }).pairs.map(({ first, second, onlyFirst, onlySecond, p, pHolm }) => ({
    first: samples[first]?.key ?? '',
    second: samples[second]?.key ?? '',
    onlyFirst,
    onlySecond,
    p,
    pAdjusted: pHolm,
  }));
}

function meanIntensity(
  { cups }: DescriptionTable,
  word: string,
  place: number,
): { mean: number; of: number } | null {
  const values = cups.flatMap((row) => {
    const found = firstAnswer(row[place])?.words.find(({ id }) => id === word)?.intensity;
    return found === null || found === undefined ? [] : [found];
  });
  if (values.length === 0) return null;
  return { mean: values.reduce<number>((sum, value) => sum + value, 0) / values.length, of: values.length };
}

function spread({ shares }: DescribedWord): number {
  const known = shares.flatMap(({ share }) => (share === null ? [] : [share]));
  return known.length === 0 ? 0 : Math.max(...known) - Math.min(...known);
}

/** By adjusted p, then p, then how far the shares lie apart, then how often it was checked. */
function byEvidence(a: DescribedWord, b: DescribedWord): number {
  return (
    (a.test?.pAdjusted ?? 1) - (b.test?.pAdjusted ?? 1) ||
    (a.test?.p ?? 1) - (b.test?.p ?? 1) ||
    spread(b) - spread(a) ||
    b.checked - a.checked ||
    (a.word < b.word ? -1 : 1)
  );
}

function familyReading(
  words: readonly DescribedWord[],
  {
    tests,
    complete,
    leftOut,
    comparable,
    samples,
    dropped,
  }: Record<'tests' | 'complete' | 'leftOut' | 'samples', number> & {
    comparable: boolean;
    dropped: readonly string[];
  },
): string {
  if (samples < 2) return 'One sample: there is nothing to compare it with.';
  if (!comparable) {
    return leftOut > 0
      ? 'The test of a word needs people who answered for every sample, and fewer than two did: shares are given, and no test.'
      : 'Fewer than two people answered: shares are given, and no test.';
  }
  const routes = new Map<string, number>();
  for (const { test } of words) if (test) routes.set(test.route, (routes.get(test.route) ?? 0) + 1);
  const said = [
    ['exact', 'all orders within assessors'],
    // How many were drawn would tell p of a word whose drawing stopped early.
    ['permutation', 'random orders within assessors, fewer where these show that p is large'],
    ['chi-square', 'the chi-square approximation'],
  ].flatMap(([route = '', text = '']) => {
    const count = routes.get(route) ?? 0;
    return count === 0 ? [] : [`${text} (${count} ${count === 1 ? 'word' : 'words'})`];
  });
  const left =
    leftOut === 0
      ? ''
      : ` ${leftOut === 1 ? 'One person' : `${leftOut} people`} without an answer for some sample ${leftOut === 1 ? 'is' : 'are'} left out of the tests, not of the shares.`;
  const by = said.length === 0 ? '' : `, p by ${listed(said)}`;
  const without =
    dropped.length === 0
      ? ''
      : ` Fewer than half of the people answered for ${listed(dropped)}, which ${dropped.length === 1 ? 'is' : 'are'} in no test of a word.`;
  return (
    `Cochran’s Q for each word on ${inWords(complete)} people who answered for every ${dropped.length === 0 ? 'sample' : 'other sample'}${by}; ` +
    `adjusted over all ${tests} words offered, those nobody checked included.${left}${without}`
  );
}
