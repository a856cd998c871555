import type { LikingPart, RatingPart } from '../../contracts/part.ts';
import type { MarkFigures } from '../../contracts/result-rating.ts';
import type { NextMarks, StoryInput } from '../../contracts/story.ts';
import { listed, percent, plain } from '../../ground/phrases.ts';
import { MARKS_POWER, peopleForMarks, scatterOfMarks } from '../../planner/people-for-marks.ts';
import { liquidOf } from '../../planner/plan-liquid.ts';
import type { PlannedLiquid } from '../../planner/plan-reading.ts';
import type { AttributeGroup } from './attributes.ts';
import { MAX_PEOPLE, peopleAtHand } from './next.ts';

/** A difference worth knowing of where nobody wrote one down, as a share of the scale: 10 of 100, about one step of nine. Our own; no source. */
const MATTERS = { line: 10, 'nine-point': 1 } as const;
/** More trays of one question are not asked for. Our own bound; no source. */
const MAX_TRAYS = 3;

type Found = AttributeGroup['found'][number];

/**
 * What a further session would take to show how two arms differ in an attribute, or in liking, asked by itself: for the pair that lay
 * furthest apart when it was last marked. Planned for the lower plausible limit of that difference where it was shown, since the
 * largest of several differences is too large on average, and limits for all pairs at once allow for that; else for a size that
 * would matter. How far marks scatter is taken from the same session.
 */
export function nextMarked(input: StoryInput, groups: readonly AttributeGroup[]): NextMarks[] {
  return groups.flatMap((group) => {
    const last = group.found.at(-1);
    const pair = last && furthestPair(input, last);
    return last && pair ? [nextOf(input, group, { last, pair })] : [];
  });
}

interface ArmPair {
  armIds: [string, string];
  limits: { lower: number; upper: number };
}

/** The two arms furthest apart; spiked cups are no arms, and what left the trial is asked about no more. */
function furthestPair({ arms }: StoryInput, { part, figures }: Found): ArmPair | null {
  const armOf = (key: string): string | null => {
    const sample = part.samples.find((one) => one.key === key);
    return sample?.role === 'sample' && arms.some(({ id }) => id === sample.armId) ? sample.armId : null;
  };
  const [furthest] = figures.pairs
    .flatMap(({ first, second, difference, lower, upper }) => {
      const [one, other] = [armOf(first), armOf(second)];
      return one === null || other === null
        ? []
        : [
            {
              armIds: [one, other] as [string, string],
              size: Math.abs(difference),
              limits: { lower, upper },
            },
          ];
    })
    .sort((a, b) => b.size - a.size);
  return furthest ?? null;
}

interface Size {
  difference: number;
  from: NextMarks['from'];
}

function sizeOf({ part, figures }: Found, { limits: { lower, upper } }: ArmPair): Size {
  const least = lower > 0 ? lower : upper < 0 ? -upper : 0;
  if (figures.shown && least > 0) return { difference: least, from: 'lower-limit' };
  return {
    difference: part.kind === 'liking' ? MATTERS['nine-point'] : MATTERS[part.settings.scale],
    from: 'matters',
  };
}

function nextOf(
  input: StoryInput,
  group: AttributeGroup,
  { last, pair }: { last: Found; pair: ArmPair },
): NextMarks {
  const { armIds } = pair;
  const size = sizeOf(last, pair);
  const frame = { key: group.key, armIds: [...armIds], from: size.from };
  const names = listed(armIds.map((id) => input.arms.find((arm) => arm.id === id)?.name ?? '?'));
  const about = last.part.kind === 'liking' ? 'liking' : `“${group.name}”`;
  const { spread } = last.figures;
  if (!spread || spread.residual <= 0) {
    return {
      ...frame,
      plan: null,
      sentence: `${names} in ${about}: how far marks of one person scatter could not be told from that session, so no size can be computed.`,
    };
  }
  const tried = candidates(input, { last, armIds, size: size.difference, spread });
  const people = peopleAtHand(input);
  const best = tried.find(
    ({ assessors, liquid }) => assessors <= people && liquid.every(({ enough }) => enough),
  );
  const goal = `${names} in ${about}: to show a difference of ${sizeWords(size, last, group)}, with a chance of ${percent(MARKS_POWER)} or more,`;
  if (!best) return { ...frame, plan: null, sentence: `${goal} ${tooFew(tried, people)}` };
  const { assessors, trays, scatter, liquid } = best;
  return {
    ...frame,
    plan: {
      kind: last.part.kind,
      assessors,
      trays,
      alpha: last.part.settings.alpha,
      power: MARKS_POWER,
      difference: size.difference,
      scatter,
      needMl: liquid.map(({ needMl }) => needMl),
    },
    sentence:
      `${goal} it takes ${assessors} people, asked nothing else, who mark ${trays === 1 ? 'one cup' : `${trays} cups`} of each (${mlWords(liquid)}), at alpha ${last.part.settings.alpha}. ` +
      `This takes one person’s ${trays === 1 ? 'marks' : 'mean marks'} of an arm to scatter as on ${last.session.on} (standard deviation ${plain(scatter, scatter < 1 ? 2 : 1)} ${unit(last)}). ${unseen(size)}`,
  };
}

interface Candidate {
  assessors: number;
  trays: number;
  scatter: number;
  liquid: PlannedLiquid[];
}

/** One cup of each first; more only where it is known how far people taste the arms apart, which no number of cups makes smaller. */
function candidates(
  input: StoryInput,
  {
    last,
    armIds,
    size,
    spread,
  }: { last: Found; armIds: string[]; size: number; spread: NonNullable<MarkFigures['spread']> },
): Candidate[] {
  const { alpha } = last.part.settings;
  const most = spread.interaction === null ? 1 : MAX_TRAYS;
  return Array.from({ length: most }, (_, at) => at + 1).flatMap((trays) => {
    const variation = { within: spread.residual, apart: spread.interaction ?? 0, trays };
    const assessors = peopleForMarks({ size, ...variation, alpha, most: MAX_PEOPLE });
    if (assessors === null) return [];
    const parts = [partOf(last, armIds, trays)];
    const { cupMl, restSeconds } = last.session.result.session;
    const settings = { assessors, spareSeats: 0, cupMl, restSeconds, masking: false, servingNote: '', parts };
    const liquid = armIds.flatMap((id) =>
      input.arms
        .filter((arm) => arm.id === id)
        .map(({ name, volumeMl }) => liquidOf(settings, { id, name, volumeMl, abv: null })),
    );
    return [{ assessors, trays, scatter: scatterOfMarks(variation), liquid }];
  });
}

function partOf(
  { part, attributeId }: Found,
  armIds: readonly string[],
  trays: number,
): RatingPart | LikingPart {
  const shape = {
    cups: 'own' as const,
    samples: armIds.map((armId) => ({ armId, role: 'sample' as const, spike: null })),
    replicates: trays,
    cupsEach: null,
    alpha: part.settings.alpha,
  };
  if (part.kind === 'liking') return { kind: 'liking', ...shape };
  const { scale, by, returning, attributes } = part.settings;
  return {
    kind: 'rating',
    ...shape,
    scale,
    by,
    returning,
    attributes: attributes.filter(({ id }) => id === attributeId),
  };
}

const onNine = ({ part }: Found): boolean => part.kind === 'liking' || part.settings.scale === 'nine-point';
const unit = (found: Found): string => (onNine(found) ? 'steps' : 'points');

function sizeWords({ difference, from }: Size, last: Found, { lowest, highest }: AttributeGroup): string {
  const size = `${plain(difference, onNine(last) ? 2 : 1)} on the scale from ${lowest} to ${highest}`;
  return from === 'lower-limit'
    ? `${size}, the lower end of the ${percent(1 - last.part.settings.alpha)} interval of the one seen last (for all pairs at once)`
    : `${size}, ${onNine(last) ? 'one step' : 'a tenth'} of it, taken as a size that would matter since none was shown and none was written down`;
}

const mlWords = (liquid: readonly PlannedLiquid[]): string =>
  listed(liquid.map(({ needMl, name }) => `${plain(needMl)} mL of ${name}`));

const unseen = ({ from }: Size): string =>
  from === 'lower-limit'
    ? 'Were the difference smaller than that limit, the chance would be lower.'
    : 'A smaller difference would more often stay unseen, and that nothing is found would not mean that the arms are alike.';

function tooFew(tried: readonly Candidate[], people: number): string {
  const short = tried.find(({ assessors }) => assessors <= people);
  const [fewest] = [...tried].sort((a, b) => a.assessors - b.assessors);
  if (short) {
    const left = short.liquid.map(({ leftMl, name }) => `${plain(leftMl)} mL of ${name}`);
    return `it takes ${short.assessors} people and ${mlWords(short.liquid)}; the liquid left does not reach (${listed(left)}).`;
  }
  return fewest
    ? `it takes ${fewest.assessors} people who mark ${fewest.trays === 1 ? 'one cup' : `${fewest.trays} cups`} of each, and at most ${people} came so far.`
    : `no panel of up to ${MAX_PEOPLE} people would do.`;
}
