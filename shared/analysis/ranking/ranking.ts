import type { RankingPart } from '../../contracts/part.ts';
import type { RankingResult } from '../../contracts/result-ranking.ts';
import { rankingTable, type RankingTable } from './table.ts';
import { rankingTests, rankSumsOf } from './tests.ts';
import { rankingCaveats, rankingFinding, rankingMethods, type RankingFigures } from './words.ts';
import { servedFacts, type PartInput } from '../common/served.ts';
import { inWords, people } from '../../ground/phrases.ts';

/**
 * From the orders given to the result document of a ranking: rank sums, the test that fits how cups were dealt (Friedman,
 * sign test for two samples, Durbin for incomplete blocks), pairs with letters after a difference was shown, and agreement.
 *
 * Everybody counts once: cups of one sample by the mean of their ranks. Pure: the same input gives the same document, in any
 * order of trays. Errors: RangeError for answers of another kind or orders that do not hold the cups of their tray.
 * Sources: in the method notes of the document.
 */
export function analyseRanking(input: PartInput<RankingPart>): RankingResult {
  const { part, number, trays, random } = input;
  const table = rankingTable(input);
  const { test, pairs, letters, sign, agreement } = rankingTests(table, part.alpha, random('ranking'));
  const sums = rankSumsOf(table);
  const figures: RankingFigures = {
    part: number,
    served: servedFacts(trays),
    kind: 'ranking',
    settings: {
      cups: part.cups,
      replicates: part.replicates,
      cupsEach: part.cupsEach,
      alpha: part.alpha,
      attribute: part.attribute,
    },
    samples: table.samples.map((sample, place) => ({
      ...sample,
      ...(sums[place] ?? { assessors: 0, rankSum: null, meanRank: null, ranks: [] }),
      letters: letters?.[place] ?? null,
    })),
    warmUps: table.warmUps,
    ranked: rankedFacts(table),
    test,
    pairs,
    sign,
    agreement,
    duplicates: duplicatesOf(table),
    comments: table.comments,
  };
  return {
    ...figures,
    finding: rankingFinding(figures),
    caveats: rankingCaveats(input, figures),
    methods: rankingMethods(figures),
  };
}

function rankedFacts({
  assessors,
  averaged,
  complete,
  trays,
  samples,
}: RankingTable): RankingResult['ranked'] {
  const telling = new Set(
    trays.flatMap(({ assessor, row }) =>
      row.filter((value) => value !== null).length > 1 ? [assessor] : [],
    ),
  );
  const trayNote = trays.length > assessors ? ` in ${trays.length} orders` : '';
  const what = complete
    ? `${people(assessors)} ranked all ${inWords(samples.length)} samples${trayNote}.`
    : `${people(assessors)} ranked some of ${inWords(samples.length)} samples each, in ${trays.length} trays.`;
  return {
    assessors: telling.size,
    leftOut: assessors - telling.size,
    averaged,
    reading: assessors === 0 ? 'Nobody ranked the cups.' : `${what.charAt(0).toUpperCase()}${what.slice(1)}`,
  };
}

function duplicatesOf({ twice, samples }: RankingTable): RankingResult['duplicates'] {
  return samples.flatMap(({ key, name }, place) => {
    const own = twice.filter((pair) => pair.place === place);
    if (own.length === 0) return [];
    const mean = (of: (pair: (typeof own)[number]) => number): number =>
      own.reduce((sum, pair) => sum + of(pair), 0) / own.length;
    return [
      {
        sample: key,
        name,
        people: own.length,
        meanApart: mean(({ apart }) => apart),
        byChance: mean(({ among }) => (among + 1) / 3),
      },
    ];
  });
}
