import { rareWordsCaveat } from '../analysis/description/caveats.ts';
import { descriptionFinding } from '../analysis/description/finding.ts';
import { lateReading } from '../analysis/description/late.ts';
import { lateWord } from '../rules/parts.ts';
import { descriptionMethods } from '../analysis/description/methods.ts';
import { rankingFinding, rankingMethods } from '../analysis/ranking/words.ts';
import { bandOf, capital, pEquals, people } from '../ground/phrases.ts';
import type {
  DescribedWord,
  DescriptionResult,
  LateResult,
  LateWord,
} from '../contracts/result-description.ts';
import type { RankingResult } from '../contracts/result-ranking.ts';
import { BLUR_BELOW, MIN_GROUP } from './disclosure.ts';
import type { DisclosureContext } from './disclosure-context.ts';

/** Mean ranks of a small panel are told to half a rank. Our own step; no source. */
const RANK_STEP = 0.5;

export function toStep(value: number, step: number): number {
  // Ends of decimals that steps of a tenth leave behind are cut off.
  return Number((Math.round(value / step) * step).toFixed(6));
}

// Fewer sums than this that round to the same mean tell the sum.
const OPEN_SUMS = 3;
// Samples put level share the mean of their places.
const HALF_MARK = 0.5;

/**
 * A mean of few people, to a step that leaves at least three sums of whole marks open: of five people half a point alone would
 * leave two. Sums that round alike are one group, small groups join their neighbours, and the middle of a group is told.
 *
 * @param mean of marks from `least` to `most`, of so many people. @returns a multiple of `step`.
 */
export function openMean(
  mean: number,
  people: number,
  [least, most]: readonly [number, number],
  step: number,
): number {
  const sums = Array.from(
    { length: Math.floor(people * (most - least)) + 1 },
    (_, at) => people * least + at,
  );
  const groups: number[][] = [];
  for (const alike of Map.groupBy(sums, (sum) => toStep(sum / people, step)).values()) {
    const last = groups.at(-1);
    if (last && last.length < OPEN_SUMS) last.push(...alike);
    else groups.push(alike);
  }
  const [rest, before] = [groups.at(-1) ?? [], groups.at(-2)];
  if (before && rest.length < OPEN_SUMS) {
    before.push(...rest);
    groups.pop();
  }
  const own = groups.find((group) => mean * people <= (group.at(-1) ?? 0) + HALF_MARK) ?? rest;
  return toStep(((own[0] ?? 0) + (own.at(-1) ?? 0)) / 2 / people, step);
}

/**
 * What may be told of a description: words that enough people gave, without words of assessors' own. Sums over words are
 * taken over the words told, so that no total gives away another. Of small panels only counts.
 */
export function discloseDescription(part: DescriptionResult, context: DisclosureContext): DescriptionResult {
  const { tier, protections, rare, withheld } = context;
  const coarse = protections.panelTiers && tier !== 'full';
  const words = part.words
    .filter(({ word }) => !rare.has(word))
    .map((word) => discloseWord(word, coarse, context));
  const names = new Set(words.map(({ id }) => id));
  const anyWithheld = words.length < part.words.length;
  const few = (count: number): boolean => protections.smallGroups && count < MIN_GROUP;
  const liking = coarse
    ? null
    : part.liking && {
        ...part.liking,
        rows: part.liking.rows.filter(
          ({ id, chosen, notChosen }) => names.has(id) && !few(chosen) && !few(notChosen),
        ),
      };
  const duplicates = part.duplicates.filter(
    ({ people: tasted }) => !coarse && !(protections.smallGroups && tasted < BLUR_BELOW),
  );
  withheld.cells +=
    (part.liking?.rows.length ?? 0) - (liking?.rows.length ?? 0) + part.duplicates.length - duplicates.length;
  const told: DescriptionResult = {
    ...part,
    words,
    // What is neither told nor unchecked would be a rare word.
    unchecked: anyWithheld ? [] : part.unchecked,
    samples: part.samples.map((sample, place) => ({
      ...sample,
      checked: words.reduce((sum, { shares }) => sum + (shares[place]?.checked ?? 0), 0),
    })),
    map:
      coarse || part.map === null
        ? null
        : {
            ...part.map,
            words: part.map.words.filter(({ key }) => names.has(key)),
            rare: part.map.rare.filter((word) => !rare.has(word)),
          },
    ...(coarse && { bands: true as const }),
    profile: discloseProfile(part.profile, coarse, anyWithheld),
    ownWords: protections.freeTextOff ? [] : part.ownWords,
    comments: protections.freeTextOff ? [] : part.comments,
    duplicates,
    liking,
    late: part.late && discloseLate(part.late, part, coarse, context),
  };
  return {
    ...told,
    finding:
      words.length === 0 && anyWithheld
        ? {
            headline: `${capital(people(part.served.assessors))} answered; no word was given by enough of them to be shown.`,
            lede: 'Words given by fewer than three people are not shown.',
          }
        : descriptionFinding(told),
    caveats: part.caveats.flatMap((caveat) => {
      if (part.map === null || caveat.text !== rareWordsCaveat(part.map)) return [caveat];
      return told.map && told.map.rare.length > 0 ? [{ ...caveat, text: rareWordsCaveat(told.map) }] : [];
    }),
    methods: descriptionMethods(told),
  };
}

/** Chi-square is summed over all words, those that are withheld too. */
function discloseProfile(
  profile: DescriptionResult['profile'],
  coarse: boolean,
  anyWithheld: boolean,
): DescriptionResult['profile'] {
  if (!profile || !(coarse || anyWithheld)) return profile;
  const open = { ...profile, chiSquare: null };
  if (!coarse) return open;
  const p = bandOf(profile.p);
  return { ...open, p, reading: profile.reading.replace(pEquals(profile.p), pEquals(p, true)) };
}

/**
 * The late question by the same rules as what was said at first. What the same people said both times is told of larger panels
 * only, where none of it is the word of one or two, and not where what was said at first is withheld.
 */
function discloseLate(
  late: LateResult,
  { samples, settings }: DescriptionResult,
  coarse: boolean,
  context: DisclosureContext,
): LateResult {
  const { protections, rare, withheld } = context;
  const few = (count: number): boolean => protections.smallGroups && count > 0 && count < MIN_GROUP;
  const words = late.words
    .filter(({ word }) => !rare.has(lateWord(word, late)))
    .map((word): LateWord => ({
      ...discloseWord(word, coarse, context),
      beside: word.beside.map((told, place) => {
        // Those who answered only once stand in the shares: what is left between would be theirs.
        const once = [word.shares[place]?.asked, samples[place]?.answers].map(
          (answers) => (answers ?? 0) - (told?.both ?? 0),
        );
        const shown =
          told !== null &&
          !coarse &&
          !rare.has(word.word) &&
          ![told.stayed, told.came, told.gone, told.both - told.stayed - told.came - told.gone, ...once].some(
            few,
          );
        if (!shown && told !== null) withheld.cells += 1;
        return shown ? told : null;
      }),
    }));
  const anyWithheld = words.length < late.words.length;
  return {
    ...late,
    words,
    unchecked: anyWithheld ? [] : late.unchecked,
    reading:
      words.length === 0 && anyWithheld
        ? `After ${late.seconds} s no word was given by enough people to be shown.`
        : lateReading({ words, family: late.family }, samples, {
            seconds: late.seconds,
            alpha: settings.alpha,
          }),
  };
}

function discloseWord<Word extends DescribedWord>(
  word: Word,
  coarse: boolean,
  { protections, withheld }: DisclosureContext,
): Word {
  const few = (count: number): boolean => protections.smallGroups && count < MIN_GROUP;
  const shares = word.shares.map((share) => {
    if (share.intensity === null || !(coarse || few(share.intensity.of))) return share;
    withheld.cells += 1;
    return { ...share, intensity: null };
  });
  const pairs = word.pairs.filter(
    ({ onlyFirst, onlySecond }) =>
      !coarse && !(onlyFirst > 0 && few(onlyFirst)) && !(onlySecond > 0 && few(onlySecond)),
  );
  withheld.cells += word.pairs.length - pairs.length;
  // Of drawing that stopped early, how many orders were drawn is p itself: so many of them reached it.
  const test = coarse
    ? word.test && {
        ...word.test,
        q: null,
        p: bandOf(word.test.p),
        pAdjusted: bandOf(word.test.pAdjusted),
        permutations: null,
      }
    : word.test;
  return { ...word, shares, pairs, test };
}

/** People by rank, of all samples or of none: each rank was given by everybody, so that one table follows from the others. */
function withOpenRanks(
  samples: RankingResult['samples'],
  { protections, rowsTold, withheld }: DisclosureContext,
): RankingResult['samples'] {
  const ranks = samples.flatMap((sample) => sample.ranks);
  const few = ranks.some(({ people: had }) => had > 0 && had < MIN_GROUP);
  if (!protections.smallGroups || rowsTold || !few) return samples;
  withheld.cells += ranks.length;
  return samples.map((sample) => ({ ...sample, ranks: [] }));
}

/** What may be told of a ranking; of small panels mean ranks to half a rank, p, and no table of ranks. */
export function discloseRanking(part: RankingResult, context: DisclosureContext): RankingResult {
  const { tier, protections, withheld } = context;
  const coarse = protections.panelTiers && tier !== 'full';
  const comments = protections.freeTextOff ? [] : part.comments;
  const duplicates = part.duplicates.filter(
    ({ people: ranked }) => !coarse && !(protections.smallGroups && ranked < BLUR_BELOW),
  );
  withheld.cells += part.duplicates.length - duplicates.length;
  if (!coarse) return { ...part, comments, duplicates, samples: withOpenRanks(part.samples, context) };
  withheld.cells += part.samples.reduce((sum, { ranks }) => sum + ranks.length, 0);
  withheld.cells += part.pairs?.rows.length ?? 0;
  const told: RankingResult = {
    ...part,
    comments,
    duplicates,
    samples: part.samples.map((sample) => ({
      ...sample,
      rankSum: null,
      meanRank:
        sample.meanRank === null
          ? null
          : openMean(sample.meanRank, sample.assessors, [1, part.samples.length], RANK_STEP),
      ranks: [],
    })),
    bands: true,
    test: part.test && {
      ...part.test,
      // Of two samples it follows from the counts told.
      p: part.sign ? part.test.p : bandOf(part.test.p),
      pChiSquare: bandOf(part.test.pChiSquare),
      chiSquare: null,
      uncorrected: null,
      imanDavenport: null,
    },
    pairs: null,
    agreement: null,
  };
  return { ...told, finding: rankingFinding(told), methods: rankingMethods(told) };
}
