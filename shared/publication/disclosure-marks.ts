import { bandOf, capital, listed, pEquals, people, plain } from '../ground/phrases.ts';
import type { SampleFacts } from '../contracts/result-common.ts';
import type { ControlResult, LikingResult, MarkFigures, RatingResult } from '../contracts/result-rating.ts';
import { BLUR_BELOW, MIN_GROUP } from './disclosure.ts';
import { openMean, toStep } from './disclosure-flights.ts';
import type { DisclosureContext } from './disclosure-context.ts';

/** Steps to which means of a small panel are told. Our own choice: a twentieth of a line, half a step of others; no source. */
const LINE_STEP = 5;
const STEP = 0.5;
const NINE = [1, 9] as const;
/** Statistics of tests and shares of marks, of small panels. */
const TENTH = 0.1;

interface Shown {
  samples: readonly SampleFacts[];
  name: string;
  step: number;
  /** Least and most that a mark can be. */
  ends: readonly [number, number];
}

/** What may be told of a rating; an attribute for which some sample has fewer than five people is left out. */
export function discloseRating(part: RatingResult, context: DisclosureContext): RatingResult {
  const { protections, withheld } = context;
  const onLine = part.settings.scale === 'line';
  const step = onLine ? LINE_STEP : STEP;
  const ends = onLine ? ([0, 100] as const) : NINE;
  const attributes = part.attributes.filter((figures) => !tooFew(figures, context));
  withheld.cells += (part.attributes.length - attributes.length) * part.samples.length;
  const told = attributes.map((figures) => ({
    ...figures,
    ...tellMarks(figures, { samples: part.samples, name: figures.name, step, ends }, context),
  }));
  const open = { ...part, attributes: told, comments: protections.freeTextOff ? [] : part.comments };
  if (!isCoarse(context) && told.length === part.attributes.length) return open;
  return { ...open, ...coarseWords(part, told) };
}

export function discloseLiking(part: LikingResult, context: DisclosureContext): LikingResult | null {
  if (tooFew(part.figures, context)) return null;
  const figures = tellMarks(
    part.figures,
    { samples: part.samples, name: 'liking', step: STEP, ends: NINE },
    context,
  );
  const open = { ...part, figures, comments: context.protections.freeTextOff ? [] : part.comments };
  return isCoarse(context) ? { ...open, ...coarseWords(part, [{ ...figures, name: 'liking' }]) } : open;
}

export function discloseControl(part: ControlResult, context: DisclosureContext): ControlResult | null {
  if (tooFew(part.figures, context)) return null;
  const name = 'degree of difference';
  const figures = tellMarks(
    part.figures,
    { samples: part.samples, name, step: STEP, ends: [0, part.settings.degrees.length - 1] },
    context,
  );
  const open = { ...part, figures, comments: context.protections.freeTextOff ? [] : part.comments };
  if (!isCoarse(context)) return open;
  context.withheld.cells += part.comparisons?.rows.length ?? 0;
  return {
    ...open,
    verdict: part.verdict && coarseVerdict(part.verdict),
    comparisons: null,
    ...coarseWords(part, [{ ...figures, name }]),
  };
}

type Verdict = NonNullable<ControlResult['verdict']>;

/** Of drawing that stopped early, how many orders were drawn is p itself: so many of them reached it. */
const coarseVerdict = <Test extends Verdict>(verdict: Test): Test => ({
  ...verdict,
  marks: toStep(verdict.marks, TENTH),
  ranks: toStep(verdict.ranks, TENTH),
  p: bandOf(verdict.p),
  permutations: null,
});

const isCoarse = ({ tier, protections }: DisclosureContext): boolean =>
  protections.panelTiers && tier !== 'full';

/** A mean of few people, of whom an opened tray may name one. An agreed small panel has said yes to just that. */
function tooFew({ samples }: MarkFigures, { tier, protections }: DisclosureContext): boolean {
  return (
    protections.smallGroups && tier !== 'agreed' && samples.some(({ assessors }) => assessors < BLUR_BELOW)
  );
}

function tellMarks(figures: MarkFigures, shown: Shown, context: DisclosureContext): MarkFigures {
  const { protections, withheld } = context;
  const coarse = isCoarse(context);
  const placed = figures.positions.rows;
  if (coarse || (protections.smallGroups && placed.some(({ n }) => n < BLUR_BELOW))) {
    withheld.cells += placed.length;
    figures = {
      ...figures,
      positions: { rows: [], reading: 'Not shown: groups this small could point to people.' },
    };
  }
  return coarse ? coarseMarks(figures, shown, context) : withOpenCounts(figures, context);
}

/**
 * Marks by value are told of all samples or of none: one that is withheld would be what the ends of the scale, told over all
 * samples, leave. None are where one or two people stand behind some value; rows, if there are any, tell them anyway.
 */
function withOpenCounts(
  figures: MarkFigures,
  { protections, rowsTold, withheld }: DisclosureContext,
): MarkFigures {
  const counts = figures.samples.flatMap((sample) => sample.counts);
  const few = counts.some(({ marks }) => marks > 0 && marks < MIN_GROUP);
  if (!protections.smallGroups || rowsTold || !few) return figures;
  withheld.cells += counts.length;
  return {
    ...figures,
    samples: figures.samples.map((sample) => ({ ...sample, counts: [] })),
    ends: { low: toStep(figures.ends.low, TENTH), high: toStep(figures.ends.high, TENTH) },
  };
}

function coarseMarks(
  figures: MarkFigures,
  { samples: facts, name, step, ends }: Shown,
  { withheld }: DisclosureContext,
): MarkFigures {
  const near = (value: number): number => toStep(value, step);
  const samples = figures.samples.map((sample) => ({
    ...sample,
    mean: sample.mean === null ? null : openMean(sample.mean, sample.n, ends, step),
    // Where it is balanced the model's mean is the plain one, and its error the same for all.
    estimated: sample.estimated && {
      ...sample.estimated,
      mean: openMean(sample.estimated.mean, sample.n, ends, step),
      lower: near(sample.estimated.lower),
      upper: near(sample.estimated.upper),
      standardError: near(sample.estimated.standardError),
    },
    counts: [],
  }));
  withheld.cells += figures.samples.reduce((sum, { counts }) => sum + counts.length, 0);
  const means = samples.flatMap(({ sample, mean }) =>
    mean === null
      ? []
      : facts.filter(({ key }) => key === sample).map(({ name: own }) => `${own} ${plain(mean)}`),
  );
  return {
    ...figures,
    samples,
    verdict: figures.verdict && {
      ...coarseVerdict(figures.verdict),
      adjusted: bandOf(figures.verdict.adjusted),
    },
    // F, and differences beside errors that are the same for all pairs, lead back to the sums of squares.
    test: null,
    pairs: [],
    spread: null,
    effect: { partialEpsilonSquared: null, marginalR2: null },
    checks: null,
    cautions: [],
    ends: { low: toStep(figures.ends.low, TENTH), high: toStep(figures.ends.high, TENTH) },
    ranks: figures.ranks && {
      ...figures.ranks,
      chiSquare: null,
      p: bandOf(figures.ranks.p),
      adjusted: bandOf(figures.ranks.adjusted),
      samples: figures.ranks.samples.map((one) => ({
        ...one,
        meanRank: one.meanRank === null ? null : toStep(one.meanRank, STEP),
      })),
      pairs: [],
    },
    link: null,
    repeatability: null,
    trustReading: '',
    reading: `${capital(name)}: ${figures.shown ? 'a difference was shown' : 'no difference was shown'}${figures.verdict ? ` (${pEquals(bandOf(figures.verdict.adjusted), true)})` : ''}. Means to the nearest ${step}, or coarser where that would tell too much: ${listed(means)}.`,
  };
}

/** Notes on how figures were made that are told of ten people on only. */
const OF_WITHHELD: ReadonlySet<string> = new Set([
  'test',
  'pairs',
  'effect',
  'checks',
  'link',
  'repeatability',
]);

/** Finding and notes without the exact means that those of the whole result name. */
function coarseWords(
  { served, methods }: Pick<RatingResult, 'served' | 'methods'>,
  figures: readonly (MarkFigures & { name: string })[],
): Pick<RatingResult, 'finding' | 'methods' | 'bands'> {
  const shown = figures.filter((one) => one.shown).map(({ name }) => name);
  return {
    bands: true,
    finding: {
      headline:
        shown.length > 0
          ? `A difference was shown in ${listed(shown)}.`
          : 'No difference between the samples was shown.',
      lede: `${capital(people(served.assessors))} gave marks. ${figures.map(({ reading }) => reading).join(' ')} Not shown does not mean alike.`,
    },
    methods: methods
      .filter(({ id }) => !OF_WITHHELD.has(id))
      .map((note) => ({ ...note, inputs: `marks of ${people(served.assessors)}` })),
  };
}
