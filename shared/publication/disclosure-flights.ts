import { rareWordsCaveat } from '../analysis/description/caveats.ts';
import { descriptionFinding } from '../analysis/description/finding.ts';
import { lateReading } from '../analysis/description/late.ts';
import { lateWord } from '../rules/parts.ts';
import { descriptionMethods } from '../analysis/description/methods.ts';
import { rankingFinding, rankingMethods } from '../analysis/ranking/words.ts';
import { capital, people } from '../ground/phrases.ts';
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
    // Summed over all words, those that are withheld too.
    profile: part.profile && (anyWithheld || coarse ? { ...part.profile, chiSquare: null } : part.profile),
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
  return { ...word, shares, pairs };
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
  if (!coarse) return { ...part, comments, duplicates };
  withheld.cells += part.samples.reduce((sum, { ranks }) => sum + ranks.length, 0);
  withheld.cells += part.pairs?.rows.length ?? 0;
  const told: RankingResult = {
    ...part,
    comments,
    duplicates,
    samples: part.samples.map((sample) => ({
      ...sample,
      rankSum: null,
      meanRank: sample.meanRank === null ? null : toStep(sample.meanRank, RANK_STEP),
      ranks: [],
    })),
    test: part.test && { ...part.test, chiSquare: null, uncorrected: null, imanDavenport: null },
    pairs: null,
    agreement: null,
  };
  return { ...told, finding: rankingFinding(told), methods: rankingMethods(told) };
}
