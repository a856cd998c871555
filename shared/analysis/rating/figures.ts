import type { MarkFigures, MarkedSample } from '../../contracts/result-rating.ts';
import type { SampleFacts } from '../../contracts/result-common.ts';
import type { RandomSource } from '../../ground/random.ts';
import { holm } from '../../stats/multiplicity.ts';
import { normalQuantile } from '../../stats/normal.ts';
import { sharedLetters } from '../../stats/ranking/shared-letters.ts';
import type { AskedMark } from './marks.ts';
import { meansDraft, repeatabilityOf, type MeansDraft } from './model.ts';
import { linkDraft, rankDraft, type LinkDraft, type RankDraft } from './ranks.ts';
import { PERMUTATIONS, verdictsOf } from './verdict.ts';
import { markReading } from './words.ts';
import { capital, listed, plain } from '../../ground/phrases.ts';

export interface MarkScale {
  lowest: number;
  highest: number;
  /** Whole steps that can be counted; false for a line. */
  steps: boolean;
}

export interface MarkSet {
  /** What is marked, as sentences name it: 'bitterness', 'liking', 'degree of difference'. */
  about: string;
  marks: readonly AskedMark[];
}

export interface MarkPlan {
  samples: readonly SampleFacts[];
  scale: MarkScale;
  alpha: number;
  /** Cups were dealt in incomplete blocks. */
  blocks: boolean;
  /** What stands on the trusted answer, as sentences name it: 'the finding'. */
  stands: string;
  random: RandomSource;
}

// The random orders of a verdict are shared over the attributes for p by ranks, and are never so few that p is coarse.
const MIN_PERMUTATIONS = 999;
// A residual check is flagged below this; a quarter of the marks at one end is a floor or a ceiling. Our own rules, no source.
const RESIDUAL_ALPHA = 0.01;
const FLOOR_SHARE = 0.25;
// Marks x samples x attributes up to which ordered categories are fitted: beyond it a page would wait for seconds.
const MAX_TO_LINK = 7000;

/**
 * Every list of marks analysed. What a finding stands on is one test fixed beforehand, whatever the marks look like: the
 * permutation test within people, with p adjusted over all lists by Holm, those without any spread included. Beside it means
 * with their F test, ranks, and on scales of few steps the cumulative logit. Pairs and letters, given only where the
 * finding shows a difference, are by means, or by ranks where residual checks are flagged, marks pile up at an end, or means
 * have no test. Pure; sums do not depend on the order of marks.
 */
export function markFigures(sets: readonly MarkSet[], plan: MarkPlan): MarkFigures[] {
  const { samples, scale, alpha, stands, random } = plan;
  const drafts = sets.map((set) => ({ ...set, ...draftOf(set.marks, sets.length, plan) }));
  // Drawn after the ranks of all lists, so that each has its own part of the random source.
  const verdicts = verdictsOf(
    sets.map(({ marks }) => marks),
    samples.length,
    random,
  );
  const adjustedOver = (p: readonly (number | null)[]): (number | null)[] =>
    holm({ p, planned: sets.length }).adjusted;
  const byMeans = adjustedOver(drafts.map(({ means }) => means.test?.p ?? null));
  const byRanks = adjustedOver(drafts.map(({ ranks }) => ranks?.p ?? null));
  const byLink = adjustedOver(drafts.map(({ link }) => link?.p ?? null));
  return drafts.map((draft, at) => {
    const { about, marks, means, link, ratings, ends, repeatability } = draft;
    const verdict = verdicts[at] ?? null;
    const shown = verdict !== null && verdict.adjusted <= alpha;
    const trust = pairsBy(draft);
    const test = means.test && { ...means.test, adjusted: byMeans[at] ?? 1 };
    const ranks = draft.ranks && rankAnswer(draft.ranks, byRanks[at] ?? 1, shown && trust === 'ranks', alpha);
    const pairs = means.pairs.map((pair) => ({
      ...pair,
      differs: shown && trust === 'means' && pair.pTukey <= alpha,
    }));
    const rated = samplesOf(marks, samples, means, scale);
    const found: Omit<MarkFigures, 'reading'> = {
      n: ratings.length,
      assessors: new Set(ratings.map(({ assessor }) => assessor)).size,
      declined: marks.filter(({ answered, value }) => answered && value === null).length,
      unanswered: marks.filter(({ answered }) => !answered).length,
      samples: shown ? withLetters(rated, trust === 'ranks' ? ranks : null, pairs) : rated,
      verdict,
      test,
      reason: verdict ? null : (means.reason ?? 'Nobody marked two samples, so there is nothing to compare.'),
      pairs,
      spread: means.spread,
      effect: means.effect,
      checks: means.checks,
      cautions: means.cautions,
      ends,
      ranks,
      link: link && { ...link, adjusted: byLink[at] ?? 1 },
      trust,
      agree: agreeing([test, ranks], shown, alpha),
      trustReading: '',
      shown,
      repeatability,
      positions: positionsOf(marks, means.spread),
    };
    const told = { ...found, trustReading: trustReading(found, draft.reasons, { alpha, stands }) };
    return {
      ...told,
      reading: markReading(told, about, { samples, alpha, many: sets.length }),
    };
  });
}

interface Drafts {
  ratings: { assessor: string; sample: string; value: number }[];
  means: MeansDraft;
  ends: MarkFigures['ends'];
  /** What speaks against telling pairs by means. */
  reasons: readonly string[];
  repeatability: MarkFigures['repeatability'];
  ranks: RankDraft | null;
  link: LinkDraft | null;
}

/** All answers about one of `many` lists, before adjusting over the lists. */
function draftOf(
  marks: readonly AskedMark[],
  many: number,
  { samples, scale, alpha, blocks, random }: MarkPlan,
): Drafts {
  const keys = samples.map(({ key }) => key);
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const permutations = Math.max(MIN_PERMUTATIONS, Math.floor((PERMUTATIONS + 1) / many) - 1);
  const ratings = marks.flatMap(({ assessor, place, value }) =>
    value === null ? [] : [{ assessor, sample: keys[place] ?? '', value }],
  );
  const means = meansDraft(ratings, nameOf, alpha);
  const ends = endsOf(ratings, scale);
  const reasons = doubts(means, ends);
  const repeatability = repeatabilityOf(ratings);
  // The model knows no assessor by sample: where cups were repeated it would take them for further people.
  const linked =
    scale.steps &&
    reasons.length > 0 &&
    repeatability === null &&
    ratings.length * keys.length * many <= MAX_TO_LINK;
  const ranks = rankDraft(marks, keys, { blocks, permutations, random });
  const link = linked ? linkDraft(ratings, scale) : null;
  return { ratings, means, ends, reasons, repeatability, ranks, link };
}

/** What speaks against telling pairs by means, as halves of a sentence. */
function doubts({ test, checks }: MeansDraft, ends: MarkFigures['ends']): string[] {
  if (test === null) return [];
  return [
    ...((checks?.normalP ?? 1) <= RESIDUAL_ALPHA ? ['residuals do not look normal'] : []),
    ...((checks?.spreadP ?? 1) <= RESIDUAL_ALPHA ? ['spread differs between samples'] : []),
    ...(Math.max(ends.low, ends.high) >= FLOOR_SHARE
      ? ['a quarter or more of the marks stand at one end of the scale']
      : []),
  ];
}

function pairsBy({ means, ranks, reasons }: Drafts): MarkFigures['trust'] {
  return ranks !== null && (means.test === null || reasons.length > 0) ? 'ranks' : 'means';
}

/** Do the answers beside the finding say at alpha what it says? Null without any. */
function agreeing(
  answers: readonly ({ adjusted: number } | null)[],
  shown: boolean,
  alpha: number,
): boolean | null {
  const said = answers.flatMap((answer) => (answer ? [answer.adjusted <= alpha] : []));
  return said.length === 0 ? null : said.every((one) => one === shown);
}

function trustReading(
  { test, ranks, agree, shown }: Omit<MarkFigures, 'reading'>,
  reasons: readonly string[],
  { alpha, stands }: Pick<MarkPlan, 'alpha' | 'stands'>,
): string {
  // There are ranks just where there is a verdict: both need two people with two marks.
  if (!ranks) return '';
  const beside = [
    ...(test ? [{ name: 'the F test of means', shows: test.adjusted <= alpha }] : []),
    { name: 'the rank test', shows: ranks.adjusted <= alpha },
  ];
  const says = (shows: boolean): string => (shows ? 'shows a difference' : 'shows none');
  const together = agree
    ? `At alpha ${alpha} ${listed(beside.map(({ name }) => name))} ${beside.length === 1 ? 'says' : 'say'} the same.`
    : `At alpha ${alpha} the permutation test ${says(shown)}, ${listed(beside.map(({ name, shows }) => `${name} ${says(shows)}`))}. ${capital(stands)} stands on the permutation test, which was chosen before any tasting.`;
  const why = reasons.length > 0 ? listed(reasons) : test === null ? 'marks leave no error variation' : null;
  return shown && why !== null ? `${together} Pairs and letters are by ranks, since ${why}.` : together;
}

/** `telling`: the finding shows a difference, and pairs are told by ranks. */
function rankAnswer(
  ranks: RankDraft,
  adjusted: number,
  telling: boolean,
  alpha: number,
): NonNullable<MarkFigures['ranks']> {
  const pairs = ranks.pairs.map((pair) => ({ ...pair, differs: telling && pair.p <= alpha }));
  const letters = lettersOf(
    ranks.samples.map(({ sample, meanRank }) => ({ sample, height: meanRank })),
    pairs,
  );
  return {
    ...ranks,
    adjusted,
    pairs,
    samples: ranks.samples.map((row) => ({
      ...row,
      letters: telling ? (letters.get(row.sample) ?? null) : null,
    })),
  };
}

function samplesOf(
  marks: readonly AskedMark[],
  samples: readonly SampleFacts[],
  { estimated }: MeansDraft,
  { lowest, highest, steps }: MarkScale,
): MarkedSample[] {
  return samples.map(({ key }, place) => {
    const own = marks.filter((mark) => mark.place === place);
    const given = own.filter((mark) => mark.value !== null);
    const values = given.map(({ value }) => value ?? 0).sort((a, b) => a - b);
    const model = estimated.find(({ sample }) => sample === key);
    return {
      sample: key,
      n: values.length,
      assessors: new Set(given.map(({ assessor }) => assessor)).size,
      declined: own.filter(({ answered, value }) => answered && value === null).length,
      unanswered: own.filter(({ answered }) => !answered).length,
      mean: values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length,
      estimated: model
        ? {
            mean: model.mean,
            lower: model.lower,
            upper: model.upper,
            standardError: model.standardError,
            df: model.df,
          }
        : null,
      letters: null,
      counts: steps
        ? Array.from({ length: highest - lowest + 1 }, (_step, index) => ({
            value: lowest + index,
            marks: values.filter((value) => value === lowest + index).length,
          }))
        : [],
    };
  });
}

/** Letters by the answer that tells pairs: by ranks where given, else by means. */
function withLetters(
  rated: readonly MarkedSample[],
  ranks: MarkFigures['ranks'],
  pairs: readonly { first: string; second: string; differs: boolean }[],
): MarkedSample[] {
  const letters = ranks
    ? new Map(ranks.samples.map(({ sample, letters: own }) => [sample, own]))
    : lettersOf(
        rated.map(({ sample, estimated }) => ({ sample, height: estimated?.mean ?? null })),
        pairs,
      );
  return rated.map((row) => ({ ...row, letters: letters.get(row.sample) ?? null }));
}

/** Letters by key, from the highest down; samples without a height have none. */
function lettersOf(
  rows: readonly { sample: string; height: number | null }[],
  pairs: readonly { first: string; second: string; differs: boolean }[],
): Map<string, string> {
  const told = rows.filter(({ height }) => height !== null);
  if (told.length === 0) return new Map();
  const placeOf = new Map(told.map(({ sample }, place) => [sample, place]));
  const letters = sharedLetters({
    samples: told.length,
    different: pairs.flatMap(({ first, second, differs }) => {
      const [one, other] = [placeOf.get(first), placeOf.get(second)];
      return differs && one !== undefined && other !== undefined ? [[one, other] as const] : [];
    }),
    order: told.map((_row, place) => place).sort((a, b) => (told[b]?.height ?? 0) - (told[a]?.height ?? 0)),
  });
  return new Map(told.map(({ sample }, place) => [sample, letters[place] ?? '']));
}

function endsOf(ratings: readonly { value: number }[], { lowest, highest }: MarkScale): MarkFigures['ends'] {
  const at = (end: number): number =>
    ratings.length === 0 ? 0 : ratings.filter(({ value }) => value === end).length / ratings.length;
  return { low: at(lowest), high: at(highest) };
}

/** Marks by position, less the mean of their sample: a look at order, since orders are balanced, not a test of it. */
function positionsOf(marks: readonly AskedMark[], spread: MarkFigures['spread']): MarkFigures['positions'] {
  const given = marks.flatMap(({ place, position, value }) =>
    value === null ? [] : [{ place, position, value }],
  );
  const mean = (values: readonly number[]): number =>
    values.reduce((sum, value) => sum + value, 0) / values.length;
  const samples = new Map(
    [...Map.groupBy(given, ({ place }) => place)].map(([place, own]) => [
      place,
      mean(own.map(({ value }) => value)),
    ]),
  );
  const rows = [...Map.groupBy(given, ({ position }) => position)]
    .map(([position, own]) => ({
      position,
      n: own.length,
      mean: mean(own.map(({ value }) => value)),
      deviation: mean(own.map(({ value, place }) => value - (samples.get(place) ?? 0))),
    }))
    .sort((a, b) => a.position - b.position);
  return { rows, reading: positionReading(rows, spread) };
}

function positionReading(rows: MarkFigures['positions']['rows'], spread: MarkFigures['spread']): string {
  if (rows.length < 2 || !spread) return 'There are too few positions to see whether order mattered.';
  const sd = Math.hypot(spread.residual, spread.interaction ?? 0);
  const limit = -normalQuantile(RESIDUAL_ALPHA / 2 / rows.length);
  const loud = rows.filter(({ n, deviation }) => Math.abs(deviation) > (limit * sd) / Math.sqrt(n));
  if (loud.length === 0) {
    return 'No position in the flight stands out from what chance gives; a small effect of order may still be there.';
  }
  const said = loud.map(
    ({ position, deviation }) =>
      `at position ${position} marks are ${plain(Math.abs(deviation))} ${deviation > 0 ? 'higher' : 'lower'} than their samples’ means`,
  );
  return `Order mattered: ${said.join('; ')}. Orders are balanced, so that this adds noise rather than favour a sample.`;
}
