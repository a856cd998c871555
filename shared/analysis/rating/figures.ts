import type { MarkFigures, MarkedSample } from '../../contracts/result-rating.ts';
import type { SampleFacts } from '../../contracts/result-common.ts';
import type { RandomSource } from '../../ground/random.ts';
import { holm } from '../../stats/multiplicity.ts';
import { normalQuantile } from '../../stats/normal.ts';
import { sharedLetters } from '../../stats/ranking/shared-letters.ts';
import type { AskedMark } from './marks.ts';
import { meansDraft, repeatabilityOf, type MeansDraft } from './model.ts';
import { linkDraft, rankDraft, type LinkDraft, type RankDraft } from './ranks.ts';
import { markReading } from './words.ts';
import { capital, plain } from '../../ground/phrases.ts';

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

// Random orders for p by ranks: 9,999 shared over the attributes, and never so few that p is coarse.
const PERMUTATIONS = 9999;
const MIN_PERMUTATIONS = 999;
// A residual check is flagged below this; a quarter of the marks at one end is a floor or a ceiling. Our own rules, no source.
const RESIDUAL_ALPHA = 0.01;
const FLOOR_SHARE = 0.25;
// Marks x samples x attributes up to which ordered categories are fitted: beyond it a page would wait for seconds.
const MAX_TO_LINK = 7000;

/**
 * Every list of marks analysed by means, by ranks and, on scales of few steps, by the cumulative logit. p is adjusted over
 * all lists by Holm: the answers that findings stand on as one family, the others beside them each in its own. Which answer
 * a finding stands on is a rule fixed here: the means, unless residual checks are flagged or marks pile up at an end of the
 * scale. Pure; sums do not depend on the order of marks.
 */
export function markFigures(sets: readonly MarkSet[], plan: MarkPlan): MarkFigures[] {
  const { samples, scale, alpha, blocks, stands, random } = plan;
  const keys = samples.map(({ key }) => key);
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const permutations = Math.max(MIN_PERMUTATIONS, Math.floor((PERMUTATIONS + 1) / sets.length) - 1);
  const drafts = sets.map(({ marks }) => {
    const ratings = marks.flatMap(({ assessor, place, value }) =>
      value === null ? [] : [{ assessor, sample: keys[place] ?? '', value }],
    );
    const means = meansDraft(ratings, nameOf, alpha);
    const ends = endsOf(ratings, scale);
    const reasons = doubts(means, ends);
    const linked =
      scale.steps && reasons.length > 0 && ratings.length * keys.length * sets.length <= MAX_TO_LINK;
    const ranks = rankDraft(marks, keys, { blocks, permutations, random });
    return { ratings, means, ends, reasons, ranks, link: linked ? linkDraft(ratings, scale) : null };
  });
  const byMeans = holm({ p: drafts.map(({ means }) => means.test?.p ?? null) }).adjusted;
  const byRanks = holm({ p: drafts.map(({ ranks }) => ranks?.p ?? null) }).adjusted;
  const byLink = holm({
    p: drafts.map(({ link }) => link?.p ?? null),
    planned: sets.length,
  }).adjusted;
  // The answers that findings stand on are one family, whichever method each comes from: alpha is that of all together.
  const trusts = drafts.map((draft) => trusted(draft));
  const byTrust = holm({ p: drafts.map((draft, at) => rawP(draft, trusts[at]?.by ?? 'means')) }).adjusted;
  return drafts.map((draft, at) => {
    const { means, ranks, link, ratings, ends } = draft;
    const trust = trusts[at] ?? trusted(draft);
    const adjusted = {
      means: byMeans[at] ?? 1,
      ranks: byRanks[at] ?? 1,
      link: byLink[at] ?? 1,
      [trust.by]: byTrust[at] ?? 1,
    };
    const shown = hasAnswer(draft, trust.by) && adjusted[trust.by] <= alpha;
    const meansShow = adjusted.means <= alpha;
    const ranksShow = adjusted.ranks <= alpha;
    const pairs = means.pairs.map((pair) => ({
      ...pair,
      differs: means.test !== null && meansShow && pair.pTukey <= alpha,
    }));
    const marks = sets[at]?.marks ?? [];
    const rated = samplesOf(marks, samples, means, scale);
    const found: Omit<MarkFigures, 'reading'> = {
      n: ratings.length,
      assessors: new Set(ratings.map(({ assessor }) => assessor)).size,
      declined: marks.filter(({ answered, value }) => answered && value === null).length,
      unanswered: marks.filter(({ answered }) => !answered).length,
      samples:
        trust.by === 'link'
          ? withLetters(rated, linkPairs(link, alpha), shown)
          : withLetters(rated, pairs, means.test !== null && meansShow),
      test: means.test && { ...means.test, adjusted: adjusted.means },
      reason: means.test ? null : means.reason,
      pairs,
      spread: means.spread,
      effect: means.effect,
      checks: means.checks,
      cautions: means.cautions,
      ends,
      ranks: ranks && rankAnswer(ranks, adjusted.ranks, alpha),
      link: link && { ...link, adjusted: adjusted.link },
      trust: trust.by,
      agree: means.test === null || ranks === null ? null : meansShow === ranksShow,
      trustReading: '',
      shown,
      repeatability: repeatabilityOf(ratings),
      positions: positionsOf(marks, means.spread),
    };
    const told = { ...found, trustReading: trustReading(found, trust.why, { alpha, stands }) };
    return {
      ...told,
      reading: markReading(told, sets[at]?.about ?? '', { samples, alpha, many: sets.length }),
    };
  });
}

interface Drafts {
  means: MeansDraft;
  ranks: RankDraft | null;
  link: LinkDraft | null;
  reasons: readonly string[];
}

function hasAnswer({ means, ranks, link }: Drafts, by: MarkFigures['trust']): boolean {
  return { means: means.test, ranks, link }[by] !== null;
}

function rawP({ means, ranks, link }: Drafts, by: MarkFigures['trust']): number | null {
  return { means: means.test, ranks, link }[by]?.p ?? null;
}

/** What speaks against standing on the means, as halves of a sentence. */
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

function trusted({ ranks, link, reasons }: Drafts): { by: MarkFigures['trust']; why: string | null } {
  if (reasons.length === 0) return { by: 'means', why: null };
  return { by: link ? 'link' : ranks ? 'ranks' : 'means', why: reasons.join(' and ') };
}

const ANSWERS = {
  means: 'the comparison of means',
  ranks: 'the rank-based answer',
  link: 'the model for ordered categories (cumulative logit)',
} as const;

function trustReading(
  { test, ranks, agree, trust }: Omit<MarkFigures, 'reading'>,
  why: string | null,
  { alpha, stands }: Pick<MarkPlan, 'alpha' | 'stands'>,
): string {
  if (!test || agree === null || !ranks) {
    return why === null ? '' : `${capital(stands)} stands on ${ANSWERS[trust]}, since ${why}.`;
  }
  const together = agree
    ? `Means and ranks say the same at alpha ${alpha}.`
    : test.adjusted <= alpha
      ? `Means and ranks disagree at alpha ${alpha}: means show a difference, ranks do not.`
      : `Means and ranks disagree at alpha ${alpha}: ranks show a difference, means do not.`;
  const said =
    why === null
      ? `${capital(stands)} stands on ${ANSWERS.means}, whose residual checks raise no doubt.`
      : trust === 'means'
        ? `Read it with care, since ${why}, and no other answer could be had.`
        : `Trust ${ANSWERS[trust]}, on which ${stands} stands, since ${why}.`;
  return `${together} ${said}`;
}

const linkPairs = (link: LinkDraft | null, alpha: number) =>
  (link?.pairs ?? []).map(({ first, second, pTukey }) => ({ first, second, differs: pTukey <= alpha }));

function rankAnswer(ranks: RankDraft, adjusted: number, alpha: number): NonNullable<MarkFigures['ranks']> {
  const shown = adjusted <= alpha;
  const pairs = ranks.pairs.map((pair) => ({ ...pair, differs: shown && pair.p <= alpha }));
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
      letters: shown ? (letters.get(row.sample) ?? null) : null,
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

function withLetters(
  rated: readonly MarkedSample[],
  pairs: readonly { first: string; second: string; differs: boolean }[],
  shown: boolean,
): MarkedSample[] {
  if (!shown) return [...rated];
  const letters = lettersOf(
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
    order: told
      .map((_row, place) => place)
      .sort((a, b) => (told[b]?.height ?? 0) - (told[a]?.height ?? 0) || a - b),
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
  const loud = rows.filter(({ n, deviation }) => sd > 0 && Math.abs(deviation) > (limit * sd) / Math.sqrt(n));
  if (loud.length === 0) {
    return 'No position in the flight stands out from what chance gives; a small effect of order may still be there.';
  }
  const said = loud.map(
    ({ position, deviation }) =>
      `at position ${position} marks are ${plain(Math.abs(deviation))} ${deviation > 0 ? 'higher' : 'lower'} than their samples’ means`,
  );
  return `Order mattered: ${said.join('; ')}. Orders are balanced, so that this adds noise rather than favour a sample.`;
}
