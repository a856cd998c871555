import { analyseRanking } from '@oddglass/shared/analysis/ranking/ranking.ts';
import type { RankingPart } from '@oddglass/shared/contracts/part.ts';
import { rankingResult, type RankingResult } from '@oddglass/shared/contracts/result-ranking.ts';
import { describe, expect, test } from 'vitest';
import { flight, flightInput, flightTray } from '../analysis/common/flight-input.ts';
import { bandOf } from '@oddglass/shared/ground/phrases.ts';
import { expectNear, tell, tellIfAny } from './telling.ts';

const asked: RankingPart = { kind: 'ranking', ...flight(3), attribute: 'sour' };

/** Everybody ranks three cups, most of them alike: the samples are shown to differ. */
function analysed(people = 12): RankingResult {
  const trays = Array.from({ length: people }, (_, person) =>
    flightTray(
      asked,
      `p${person}`,
      [0, 1, 2],
      [{ kind: 'ranking', order: person % 5 === 4 ? ['102', '101', '103'] : ['101', '102', '103'] }],
      1,
      person === 0 ? 'Said by one.' : '',
    ),
  );
  const duplicates = [{ sample: 's1', name: 'Cool', people: 5, meanApart: 1.2, byChance: 4 / 3 }];
  return { ...analyseRanking(flightInput(asked, trays)), duplicates };
}
const whole = analysed();

describe('a ranking', () => {
  test('has here what the rules speak of', () => {
    expect(whole.test?.imanDavenport).not.toBeNull();
    expect(whole.pairs?.rows.length).toBe(3);
    expect(whole.agreement).not.toBeNull();
    expect(whole.samples.map(({ ranks }) => ranks.length)).toEqual([2, 2, 1]);
    expect(whole.samples[0]?.meanRank).toBeCloseTo(14 / 12, 6);
    expect(whole.comments.length).toBe(1);
  });

  test('of many people is told to the last figure; comments are not', () => {
    const { part, orders, withheld } = tell(whole, { rows: true });
    expect(part).toEqual({ ...whole, comments: [] });
    expect(orders).toEqual([]);
    expect(withheld).toEqual({ cells: 0, words: 0, lines: 0, parts: 0 });
    expect(rankingResult.parse(part)).toEqual(part);
    expect(tell(whole, { rows: true, without: ['freeTextOff'] }).part).toEqual(whole);
  });

  test.each(['coarse', 'agreed'] as const)(
    'of a small panel (%s) is told by p and mean ranks to half a rank, without sums, tables and pairs',
    (tier) => {
      const { part, withheld } = tell(whole, { tier });
      expect(part).toEqual({
        ...whole,
        samples: whole.samples.map((sample, at) => ({
          ...sample,
          rankSum: null,
          meanRank: part.samples[at]?.meanRank,
          ranks: [],
        })),
        test: whole.test && {
          ...whole.test,
          p: bandOf(whole.test.p),
          pChiSquare: bandOf(whole.test.pChiSquare),
          chiSquare: null,
          uncorrected: null,
          imanDavenport: null,
        },
        bands: true,
        pairs: null,
        agreement: null,
        duplicates: [],
        comments: [],
        finding: part.finding,
        methods: part.methods,
      });
      part.samples.forEach(({ meanRank }, at) => expectNear(meanRank, whole.samples[at]?.meanRank, 0.5));
      // Five rows of ranks, three pairs, one sample ranked twice.
      expect(withheld.cells).toBe(5 + 3 + 1);
      expect(rankingResult.parse(part)).toEqual(part);
      expect(tell(whole, { tier, rows: true, without: ['panelTiers'] }).part).toEqual({
        ...whole,
        comments: [],
      });
      expect(tell(whole, { tier, without: ['freeTextOff'] }).part.comments).toEqual(whole.comments);
    },
  );

  test('of a small panel is told in words by the same half ranks, and explained without what is gone', () => {
    const { part } = tell(whole, { tier: 'coarse' });
    expect(part.finding.lede).toContain(
      'Mean ranks, from most to least sour: Wild 3.00, Warm 2.00 and Cool 1.00.',
    );
    expect(whole.finding.lede).toContain('Cool 1.17');
    expect(JSON.stringify([part.finding, part.methods])).not.toContain('1.17');
    const ids = part.methods.map(({ id }) => id);
    expect(ids).toEqual(['rank-sums', 'test']);
    expect(part.methods[0]?.inputs).toBe('Cool none, Warm none, Wild none');
  });

  test('without a test, or a sample that nobody ranked, is told as what it is', () => {
    const unranked = {
      ...whole,
      test: null,
      pairs: null,
      samples: whole.samples.map((sample, at) =>
        at === 1 ? { ...sample, assessors: 0, rankSum: null, meanRank: null, ranks: [] } : sample,
      ),
    };
    const { part, withheld } = tell(unranked, { tier: 'agreed' });
    expect(part.test).toBeNull();
    expect(part.samples.map(({ meanRank }) => meanRank)).toEqual([1, null, 3]);
    expect(withheld.cells).toBe(3 + 1);
  });

  // Two people put Cool second. Ranks of one sample follow from those of the others, so that none are told.
  test('of many people without their rows is told without people by rank where one or two stand behind a rank', () => {
    const { part, withheld } = tell(whole);
    expect(part.samples).toEqual(whole.samples.map((sample) => ({ ...sample, ranks: [] })));
    expect(withheld.cells).toBe(5);
    const samples = whole.samples.map((sample) => ({
      ...sample,
      ranks: sample.ranks.map((row) => ({ ...row, people: Math.max(3, row.people) })),
    }));
    expect(tell({ ...whole, samples }).part.samples).toEqual(samples);
    expect(tell(whole, { without: ['smallGroups'] }).part.samples).toEqual(whole.samples);
  });

  test.each([
    [5, true],
    [4, false],
  ])('two cups of one sample, ranked by %i people: told is %s', (people, told) => {
    const duplicates = whole.duplicates.map((row) => ({ ...row, people }));
    const { part, withheld } = tell({ ...whole, duplicates }, { rows: true });
    expect(part.duplicates).toEqual(told ? duplicates : []);
    expect(withheld.cells).toBe(told ? 0 : 1);
    expect(tell({ ...whole, duplicates }, { without: ['smallGroups'] }).part.duplicates).toEqual(duplicates);
  });

  test.each([
    [5, 'full', true],
    [4, 'full', false],
    [5, 'coarse', true],
    [4, 'coarse', false],
    // Everybody of an agreed panel said yes to just that.
    [4, 'agreed', true],
    [1, 'agreed', true],
  ] as const)('a sample ranked by %i people in a panel that is %s: told is %s', (assessors, tier, told) => {
    const samples = whole.samples.map((sample, at) => (at === 2 ? { ...sample, assessors } : sample));
    const { part, withheld } = tellIfAny({ ...whole, samples }, { tier });
    expect(part !== null).toBe(told);
    expect(withheld.parts).toBe(told ? 0 : 1);
    expect(tellIfAny({ ...whole, samples }, { tier, without: ['smallGroups'] }).part).not.toBeNull();
  });
});
