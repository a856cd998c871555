import { z } from 'zod';
import { allergen, id, text } from './common.ts';
import { spikeAbv, spikeDose, spikeReference } from './spike.ts';

/** What a cup is there for. Duplicates, spiked samples and warm-ups look like any other sample to everybody who tastes. */
export const sampleRole = z.enum(['sample', 'duplicate', 'spiked', 'warm-up']);
export type SampleRole = z.infer<typeof sampleRole>;

/** difference: do they differ. similarity: is any difference smaller than the one that would matter. */
export const aim = z.enum(['difference', 'similarity']);
export type Aim = z.infer<typeof aim>;

const distinct = (list: readonly string[]): boolean => new Set(list).size === list.length;

const alpha = z.number().gt(0, 'Alpha lies above 0.').max(0.25, 'Alpha lies at or below 0.25.');
/** Trays each assessor gets in this part. */
const replicates = z.number().int().min(1, 'At least one tray each.').max(4, 'At most four trays each.');
const armPair = z
  .array(id)
  .length(2, 'This test compares two arms.')
  .refine(distinct, 'Choose two different arms.');

/** A tray before the others, to get used to the cups and the question. What is said on it does not count. */
const warmUpTray = z.boolean().optional();

const differenceShape = {
  armIds: armPair,
  replicates,
  warmUpTray,
  /** Risk of claiming a difference that is not there. */
  alpha,
  aim,
  /** Share of discriminators that would matter (pd), 0 to 1. */
  meaningfulShare: z.number().gt(0, 'Above 0.').lt(1, 'Below 1.'),
  /** Risk of missing that share (difference), or of claiming similarity wrongly (similarity). */
  beta: z.number().gt(0, 'Beta lies above 0.').max(0.5, 'Beta lies at or below 0.5.'),
};

export const trianglePart = z.object({ kind: z.literal('triangle'), ...differenceShape });
export type TrianglePart = z.infer<typeof trianglePart>;

export const duoTrioPart = z.object({
  kind: z.literal('duo-trio'),
  ...differenceShape,
  /** constant: the first arm is always the reference. balanced: each arm is it equally often. */
  reference: z.enum(['constant', 'balanced']),
});

export const tetradPart = z.object({ kind: z.literal('tetrad'), ...differenceShape });

export const twoOutOfFivePart = z.object({ kind: z.literal('two-out-of-five'), ...differenceShape });

export const threeAfcPart = z.object({
  kind: z.literal('three-afc'),
  ...differenceShape,
  /** 'Which is the most …?' */
  attribute: text(60),
  /** The arm expected to have more of it: one cup of it stands beside two of the other. */
  strongerArmId: id,
});

export const directionalPairPart = z.object({
  kind: z.literal('directional-pair'),
  ...differenceShape,
  attribute: text(60),
  /** The arm expected to have more; null when no direction was written down, and then the test is two-sided. */
  strongerArmId: id.nullable(),
});

export const preferencePart = z.object({
  kind: z.literal('preference'),
  armIds: armPair,
  warmUpTray,
  alpha,
  /** May an assessor say 'no preference'? Fixed before the tasting: such answers are counted apart and left out of the test. */
  noPreference: z.boolean(),
});

/**
 * Two cups of one arm, or one of each: the same, or different? For drinks that linger, since a tray has two cups. Aims at a
 * difference alone: a panel that seldom says 'different' would look like one that cannot tell.
 */
export const sameDifferentPart = z.object({
  kind: z.literal('same-different'),
  armIds: armPair,
  /** Trays come in twos, one pair of each sort; one tray alone is compared between people. */
  replicates: z
    .number()
    .int()
    .refine((trays) => [1, 2, 4].includes(trays), 'One, two or four trays each.'),
  warmUpTray,
  alpha,
  beta: differenceShape.beta,
  /** Size of the difference that would matter, in units of perceptual noise. */
  dPrime: z.number().gt(0, 'Above 0.').max(6, 'At most 6.'),
});
export type SameDifferentPart = z.infer<typeof sameDifferentPart>;

/** A sample of a flight: an arm, and what the cup is there for. */
export const sampleInput = z
  .object({
    armId: id,
    role: sampleRole,
    /** What was added and how much, for a spiked sample; otherwise null. */
    spike: text(120).nullable(),
    /**
     * Allergens it brings in, shown with the others before anybody joins; []: none, null: nobody knows. Left out in
     * settings from before it was asked, which is unknown too.
     */
    spikeAllergens: z.array(allergen).max(15).nullable().optional(),
    /** Left out where the reference tells it, and in settings from before it was asked: unknown. */
    spikeAbv: spikeAbv.optional(),
    spikeDose: spikeDose.optional(),
    /** Where it was chosen from the vocabulary; its dose stands in `spikeDose`. */
    spikeReference: spikeReference.optional(),
  })
  .refine(({ role, spike }) => (role === 'spiked') === (spike !== null), {
    path: ['spike'],
    message: 'Say what was added to a spiked sample, and to no other.',
  });
export type SampleInput = z.infer<typeof sampleInput>;

const flightShape = {
  /** own: this part has its own cups. before: it is asked on the cups of the part before it, and has no samples of its own. */
  cups: z.enum(['own', 'before']),
  samples: z.array(sampleInput).max(12, 'At most twelve samples.'),
  replicates,
  /** Most cups of one flight per assessor; null: everybody gets every sample. Fewer are dealt in incomplete blocks. */
  cupsEach: z.number().int().min(2, 'At least two cups each.').max(12).nullable(),
  alpha,
};

export const attribute = z.object({
  /** Stays the same through settings, ballots and results. */
  id: z.string().regex(/^[a-z][a-z0-9-]{0,40}$/, 'Small letters, digits and hyphens.'),
  name: text(60),
  /** What the ends of the scale mean. */
  low: text(60),
  high: text(60),
});
export type Attribute = z.infer<typeof attribute>;

/** line: 0 to 100 without a start mark. nine-point: whole numbers 1 to 9. */
export const ratingScale = z.enum(['line', 'nine-point']);
export type RatingScale = z.infer<typeof ratingScale>;

export const ratingPart = z.object({
  kind: z.literal('rating'),
  ...flightShape,
  attributes: z
    .array(attribute)
    .min(1, 'At least one attribute.')
    .max(20, 'At most twenty attributes.')
    .refine((list) => distinct(list.map(({ id: key }) => key)), 'Two attributes have this id.')
    .refine(
      (list) => distinct(list.map(({ name }) => name.toLocaleLowerCase('en'))),
      'Name each attribute once.',
    ),
  scale: ratingScale,
  /** sample: all attributes of a cup together. attribute: one attribute across the flight. */
  by: z.enum(['sample', 'attribute']),
  /** May an assessor go back to cups of the flight before sending it? */
  returning: z.boolean(),
});
export type RatingPart = z.infer<typeof ratingPart>;

/**
 * What is asked once more of every cup, some time after its words were sent and without tasting again: which of these
 * words are there now. For what lingers, or comes only then. Left out: it is not asked.
 */
export const lateQuestion = z.object({
  words: z
    .array(z.string().regex(/^[a-z][a-z0-9-]{0,60}$/))
    .min(1, 'Choose at least one word.')
    .max(12, 'At most twelve words: it is a short question.')
    .refine(distinct, 'Ask for each word once.'),
  /** From when the words of the cup were sent, so that the last sip lies at least as far back. */
  seconds: z.number().int().min(30, 'At least 30 seconds.').max(300, 'At most 300 seconds.'),
});
export type LateQuestion = z.infer<typeof lateQuestion>;

export const descriptionPart = z.object({
  kind: z.literal('description'),
  ...flightShape,
  /** Ids of the words offered; null: the whole vocabulary of the panel. */
  words: z
    .array(z.string().regex(/^[a-z][a-z0-9-]{0,60}$/))
    .min(2, 'Offer at least two words.')
    .max(200)
    .refine(distinct, 'Offer each word once.')
    .nullable(),
  /** Ask how strong a checked word is (1 faint, 2 clear, 3 strong). */
  intensity: z.boolean(),
  late: lateQuestion.optional(),
});
export type DescriptionPart = z.infer<typeof descriptionPart>;

export const controlPart = z.object({
  kind: z.literal('control'),
  ...flightShape,
  /** The arm in the marked cup; one hidden cup of it stands among the samples. */
  controlArmId: id,
  /** The panel's scale, in words from no difference to the largest: 3 to 11 steps, scored from 0. */
  degrees: z.array(text(40)).min(3, 'At least three degrees.').max(11, 'At most eleven degrees.'),
});
export type ControlPart = z.infer<typeof controlPart>;

export const likingPart = z.object({ kind: z.literal('liking'), ...flightShape });
export type LikingPart = z.infer<typeof likingPart>;

export const rankingPart = z.object({
  kind: z.literal('ranking'),
  ...flightShape,
  /** 'Put the cups in order, from least to most …' */
  attribute: text(60),
});
export type RankingPart = z.infer<typeof rankingPart>;

/** Tests between two arms, on which one choice is made over a tray, with a right answer or two sides. */
export const differencePart = z.discriminatedUnion('kind', [
  trianglePart,
  duoTrioPart,
  tetradPart,
  twoOutOfFivePart,
  threeAfcPart,
  directionalPairPart,
]);
export type DifferencePart = z.infer<typeof differencePart>;

/** One part of a tasting: its question, and how its cups are dealt. */
export const part = z.discriminatedUnion('kind', [
  ...differencePart.options,
  preferencePart,
  sameDifferentPart,
  ratingPart,
  descriptionPart,
  controlPart,
  likingPart,
  rankingPart,
]);
export type Part = z.infer<typeof part>;
export type PartKind = Part['kind'];

/** One choice over a tray of two arms: a test of difference, a preference, or whether two cups are the same. */
export type ChoicePart = Extract<Part, { armIds: string[] }>;
/** Parts whose samples are asked about cup by cup, or put in order. */
export type FlightPart = Extract<Part, { samples: unknown }>;
