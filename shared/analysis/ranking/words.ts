import type { RankingPart } from '../../contracts/part.ts';
import type { Caveat, MethodNote } from '../../contracts/result-common.ts';
import type { RankingResult } from '../../contracts/result-ranking.ts';
import { commonCaveats, plainCaveat } from '../common/caveats.ts';
import type { PartInput } from '../common/served.ts';
import { capital, inWords, listed, pEquals, people, plain } from '../../ground/phrases.ts';

export type RankingFigures = Omit<RankingResult, 'finding' | 'caveats' | 'methods'>;

// Below this the smallest p the design could give belongs beside the result.
const SMALL_PANEL = 10;

const ROUTES = {
  exact: 'exact, all orders within assessors',
  permutation: 'random orders within assessors',
  'chi-square': 'chi-square approximation',
} as const;

/** How p was had: 'exact, all orders within assessors', '9,999 random orders within assessors'. */
export function routeOf({ route, permutations }: NonNullable<RankingResult['test']>): string {
  return permutations === null ? ROUTES[route] : `${permutations.toLocaleString('en')} ${ROUTES[route]}`;
}

/** The finding in sentences. 'Not shown' is never written as 'the same'. */
export function rankingFinding(result: RankingFigures): RankingResult['finding'] {
  const { samples, settings, test, served, ranked } = result;
  const { attribute, alpha } = settings;
  if (ranked.assessors + ranked.leftOut === 0) {
    return {
      headline: 'Nobody ranked the cups, so nothing can be said.',
      lede: 'No order came in before the tasting was closed.',
    };
  }
  const sorted = samples
    .filter(({ meanRank }) => meanRank !== null)
    .toSorted((a, b) => (b.meanRank ?? 0) - (a.meanRank ?? 0));
  const order = listed(sorted.map(({ name, meanRank }) => `${name} ${(meanRank ?? 0).toFixed(2)}`));
  const means = `Mean ranks, from most to least ${attribute}: ${order}.`;
  if (test === null) {
    return {
      headline: `${capital(people(served.assessors))} ranked ${inWords(samples.length)} samples: too few for a test.`,
      lede: `${means} One order cannot be told from chance.`,
    };
  }
  const name = {
    friedman: 'Friedman test',
    incomplete: 'rank test for incomplete blocks',
    sign: 'two-sided sign test',
  }[test.kind];
  const tested = `${name}, ${pEquals(test.p, result.bands && !result.sign)}, ${routeOf(test)}; alpha fixed beforehand at ${alpha}`;
  if (!test.shown) {
    return {
      headline: `No difference in ‘${attribute}’ was demonstrated.`,
      lede: `${signSentence(result)}${capital(people(ranked.assessors))} put ${inWords(samples.length)} samples in order (${tested}). ${means} Not shown does not mean alike.`,
    };
  }
  const letters = result.pairs ? ` ${result.pairs.reading.split('. ')[0] ?? ''}.` : '';
  return {
    headline: endsInWords(result, sorted),
    lede: `${signSentence(result)}The samples are perceptibly different in ‘${attribute}’ (${tested}).${letters} ${means}`,
  };
}

/**
 * Which sample was ranked most and which least: only those that the pairs tell apart, and all of them where several stand
 * level. Samples that share a letter are not split by a sentence.
 */
function endsInWords(
  { samples, pairs, settings, test }: RankingFigures,
  sorted: RankingFigures['samples'],
): string {
  const { attribute } = settings;
  const near = (a: number | null, b: number | null | undefined): boolean =>
    a !== null && b !== null && b !== undefined && Math.abs(a - b) < 1e-9;
  const most = sorted.filter(({ meanRank }) => near(meanRank, sorted[0]?.meanRank));
  const least = sorted.filter(({ meanRank }) => near(meanRank, sorted.at(-1)?.meanRank));
  const names = (list: RankingFigures['samples']): string => listed(list.map(({ name }) => name));
  if (test?.kind === 'sign') return `${names(most)} was ranked more ${attribute} than ${names(least)}.`;
  const apart = (one: string, other: string): boolean =>
    (pairs?.rows ?? []).some(
      ({ first, second, differs }) =>
        differs && ((first === one && second === other) || (first === other && second === one)),
    );
  if (!most.every(({ key }) => least.every((other) => apart(key, other.key)))) {
    const differing = (pairs?.rows ?? []).some(({ differs }) => differs);
    return `The samples differ in ‘${attribute}’${differing ? '.' : '; no single pair stands out.'}`;
  }
  const were = (list: RankingFigures['samples']): string => (list.length === 1 ? 'was' : 'were');
  return most.length + least.length === samples.length && samples.length > 2 && most.length > 1
    ? `${names(most)} ${were(most)} ranked more ${attribute} than ${names(least)}.`
    : `${names(most)} ${were(most)} ranked most ${attribute}, ${names(least)} least.`;
}

function signSentence({ sign, samples, settings }: RankingFigures): string {
  if (!sign) return '';
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? '';
  const [high, higher] =
    sign.firstHigher >= sign.secondHigher ? [sign.first, sign.firstHigher] : [sign.second, sign.secondHigher];
  const all = sign.firstHigher + sign.secondHigher;
  const tied = sign.tied > 0 ? `, ${inWords(sign.tied)} put them level` : '';
  return `${capital(inWords(higher))} of ${inWords(all)} ranked ${nameOf(high)} more ${settings.attribute}${tied}. `;
}

/** What goes with a ranking: what every part shares, averaging, blocks, small panels, and what a rank is. */
export function rankingCaveats(input: PartInput<RankingPart>, result: RankingFigures): Caveat[] {
  const { ranked, test, samples, duplicates } = result;
  const caveats = commonCaveats(input, result.served);
  const design = (text: string): void => void caveats.push(plainCaveat('design', text));
  if (ranked.assessors + ranked.leftOut === 0) return caveats;
  design(
    'Ranks say order, not distance: two samples next to each other may lie close or far apart. A rank depends on the company a sample keeps, so ranks of tastings with other samples do not compare.',
  );
  if (ranked.averaged) {
    design(
      'Several cups of one sample in one person’s orders count as one, by the mean of their ranks (of trays with part of the samples: of their distance from the middle), and samples are ranked again by these means: everybody counts once.',
    );
  }
  if (test?.kind === 'incomplete') {
    design(
      'Nobody ranked all samples: ranks are within the samples a person had, and the test and pairs allow for which samples stood together.',
    );
  }
  if (test?.smallestP !== undefined && test.smallestP !== null && ranked.assessors < SMALL_PANEL) {
    design(
      `With ${people(ranked.assessors)} the smallest p this test could give is ${Number(test.smallestP.toPrecision(2))}.`,
    );
  }
  if (test && !test.shown) {
    design('Not significant means that this panel demonstrated no difference; a larger one may.');
  }
  if (result.warmUps.length > 0) {
    caveats.push(plainCaveat('serving', `Warm-up, in no figure: ${listed(result.warmUps)}.`));
  }
  if (duplicates.length > 0 && samples.length > 0) {
    const apart = duplicates.map(({ name, meanApart }) => `${name} ${plain(meanApart)}`);
    design(
      `Two cups of one sample stood this many places apart on average: ${listed(apart)}; 1 is side by side.`,
    );
  }
  return caveats;
}

const ASSUMES =
  'Assessors are independent of each other; if samples do not differ, every order within an assessor is equally likely.';

/** How every number was made: method, published source, inputs, and what it takes for granted. */
export function rankingMethods(result: RankingFigures): MethodNote[] {
  const { test, pairs, agreement, samples, ranked, settings, duplicates } = result;
  const sums = samples.map(({ name, rankSum }) => `${name} ${rankSum ?? 'none'}`).join(', ');
  const notes: MethodNote[] = [
    {
      id: 'rank-sums',
      name: 'Rank sums',
      explains: `Ranks from 1 for least to ${samples.length} for most ${settings.attribute}, added over people; samples put level share the mean of their places.`,
      source: 'ISO 8587 (ranking)',
      inputs: sums,
      assumption: 'Everybody understood the word and the direction alike.',
    },
  ];
  if (test)
    notes.push(testNote(test, `${ranked.assessors} people, rank sums ${sums}, alpha ${settings.alpha}`));
  if (test?.imanDavenport) {
    const { f, df1, df2, p } = test.imanDavenport;
    notes.push({
      id: 'iman-davenport',
      name: 'Iman-Davenport F',
      explains:
        'The Friedman statistic as an F ratio, closer to its level than chi-square; given beside the planned test, never instead of it.',
      source: 'Iman & Davenport 1980, Communications in Statistics A9:571',
      inputs: `F(${df1}, ${df2}) = ${plain(f, 3)}, ${pEquals(p)}`,
      assumption: ASSUMES,
    });
  }
  if (pairs) {
    notes.push({
      id: 'pairs',
      name:
        pairs.method === 'nemenyi'
          ? 'Nemenyi comparisons of rank sums'
          : 'Pairs in incomplete blocks, Holm adjustment',
      explains:
        pairs.method === 'nemenyi'
          ? 'All pairs together at alpha, by the range of rank sums; made only after the samples were shown to differ. Samples put level are allowed for. Letters: samples with a common one were not found to differ.'
          : 'Differences freed of which samples stood together, over their standard errors, adjusted over all pairs; made only after the samples were shown to differ.',
      source:
        pairs.method === 'nemenyi'
          ? 'Nemenyi 1963; Demsar 2006, Journal of Machine Learning Research 7:1; letters: Piepho 2004 (from memory)'
          : 'Conover 1999, Practical Nonparametric Statistics; Holm 1979, Scandinavian Journal of Statistics 6:65; letters: Piepho 2004 (from memory)',
      inputs:
        pairs.critical === null
          ? `${pairs.rows.length} pairs`
          : `${pairs.rows.length} pairs, critical difference ${plain(pairs.critical, 2)}`,
      assumption: 'The normal approximation of rank sums holds; it is rough for few assessors.',
    });
  }
  if (agreement) {
    notes.push({
      id: 'agreement',
      name: 'Kendall’s W, coefficient of concordance, corrected for ties',
      explains:
        'How far people agree on the order: 1 all alike, 0 rank sums all equal. It says nothing of who is right, and 0 is not disagreement.',
      source:
        'Kendall & Babington Smith 1939; Legendre 2005, Journal of Agricultural, Biological and Environmental Statistics 10:226',
      inputs: `${agreement.assessors} people, ${agreement.samples} samples`,
      assumption: 'People ranked the same samples independently of each other.',
    });
  }
  if (duplicates.length > 0) {
    notes.push({
      id: 'duplicates',
      name: 'Places between two cups of one sample',
      explains:
        'Mean over people of how many places apart two cups of one sample were put; by chance alone it is a third of one more than the cups on the tray.',
      source: 'Mean distance of two different places drawn by chance, (n + 1) / 3; elementary',
      inputs: duplicates.map(({ name, people: count }) => `${name}: ${count} orders`).join(', '),
      assumption: 'Nobody knew that the cups held the same.',
    });
  }
  return notes;
}

function testNote(test: NonNullable<RankingResult['test']>, inputs: string): MethodNote {
  if (test.kind === 'sign') {
    return {
      id: 'test',
      name: 'Sign test, two-sided',
      explains:
        'How often orders by chance alone would lie as far from half and half, in either direction. With two samples the Friedman test is this test.',
      source: 'Friedman 1937; Conover 1999, Practical Nonparametric Statistics',
      inputs: `${inputs}; ${routeOf(test)}`,
      assumption: ASSUMES,
    };
  }
  if (test.kind === 'incomplete') {
    return {
      id: 'test',
      name: 'Rank test for incomplete blocks (Durbin)',
      explains: `How often orders by chance within trays give rank sums as far from what their company allows (${routeOf(test)}).`,
      source:
        'Durbin 1951, British Journal of Psychology 4:85; Benard & van Elteren 1953; Conover 1999 (from memory)',
      inputs,
      assumption: ASSUMES,
    };
  }
  return {
    id: 'test',
    name: 'Friedman test, corrected for ties',
    explains: `How often orders by chance alone give rank sums as far apart as these (${routeOf(test)}).`,
    source: 'Friedman 1937, Journal of the American Statistical Association 32:675; ISO 8587',
    inputs,
    assumption: ASSUMES,
  };
}
