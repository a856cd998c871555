import { z } from 'zod';
import { code, id, moment, optionalText } from './common.ts';

export const confidence = z.enum(['certain', 'fairly-sure', 'guess']);
export type Confidence = z.infer<typeof confidence>;

const distinct = (list: readonly string[]): boolean => new Set(list).size === list.length;
const wordId = z.string().regex(/^[a-z][a-z0-9-]{0,60}$/);

/**
 * One choice over a tray. `chosen` holds codes: the odd cup (triangle), the cup that is the reference (duo-trio), the two that
 * belong together (tetrad, two-out-of-five), the strongest (3-AFC), the stronger (directional pair), the preferred (preference; none for
 * 'no preference' where that may be said), both cups that are said to differ (same-different; none for 'the same'). Forced
 * elsewhere: there is no 'no difference'.
 */
export const choiceAnswer = z.object({
  kind: z.literal('choice'),
  chosen: z.array(code).max(2).refine(distinct, 'Choose two different cups.'),
  /** Null where it is not asked: preference. */
  confidence: confidence.nullable(),
  /** Ids of descriptors that told it apart; asked after the choice. */
  descriptors: z
    .array(wordId)
    .max(12, 'Choose at most twelve words.')
    .refine(distinct, 'Choose each word once.'),
});
export type ChoiceAnswer = z.infer<typeof choiceAnswer>;

/** Cups from least to most. Every cup of the tray has its own place. */
export const rankingAnswer = z.object({
  kind: z.literal('ranking'),
  order: z.array(code).min(2).max(13).refine(distinct, 'Each cup has one place.'),
});
export type RankingAnswer = z.infer<typeof rankingAnswer>;

/** A mark for each cup and attribute of the sheet; null says 'I cannot say'. */
export const ratingAnswer = z.object({
  kind: z.literal('rating'),
  marks: z
    .array(z.object({ code, attributeId: z.string(), value: z.number().min(0).max(100).nullable() }))
    .min(1)
    .max(20),
});
export type RatingAnswer = z.infer<typeof ratingAnswer>;

export const checkedWord = z.object({
  id: wordId,
  /** 1 faint, 2 clear, 3 strong; null where it is not asked. */
  intensity: z.union([z.literal(1), z.literal(2), z.literal(3)]).nullable(),
});

/** Words checked for one cup. `none` is said on purpose: an empty list without it is no answer. */
export const descriptionAnswer = z
  .object({
    kind: z.literal('description'),
    words: z
      .array(checkedWord)
      .max(60)
      .refine((list) => distinct(list.map(({ id: key }) => key)), 'Check each word once.'),
    /** Words of the assessor's own that no word of the list matched. */
    ownWords: z.array(z.string().trim().min(1).max(40)).max(6, 'At most six words of your own.'),
    none: z.boolean(),
  })
  .refine(({ words, ownWords, none }) => none === (words.length + ownWords.length === 0), {
    path: ['none'],
    message: 'Check a word, or say that none of these fits.',
  });
export type DescriptionAnswer = z.infer<typeof descriptionAnswer>;

/** Words of the late question that are there now. `none` is said on purpose. */
export const lateAnswer = z
  .object({
    kind: z.literal('late'),
    words: z.array(wordId).max(12).refine(distinct, 'Choose each word once.'),
    none: z.boolean(),
  })
  .refine(({ words, none }) => none === (words.length === 0), {
    path: ['none'],
    message: 'Choose a word, or say that none of these is there.',
  });
export type LateAnswer = z.infer<typeof lateAnswer>;

/** Step on the panel's scale, from 0; null says 'I cannot say'. */
export const controlAnswer = z.object({
  kind: z.literal('control'),
  degree: z.number().int().min(0).max(10).nullable(),
});
export type ControlAnswer = z.infer<typeof controlAnswer>;

/** 1 to 9; null says 'I cannot say'. */
export const likingAnswer = z.object({
  kind: z.literal('liking'),
  value: z.number().int().min(1).max(9).nullable(),
});
export type LikingAnswer = z.infer<typeof likingAnswer>;

export const answer = z.discriminatedUnion('kind', [
  choiceAnswer,
  rankingAnswer,
  ratingAnswer,
  descriptionAnswer,
  lateAnswer,
  controlAnswer,
  likingAnswer,
]);
export type Answer = z.infer<typeof answer>;

/** What became of the cups of a tray. */
export const swallowing = z.enum(['swallowed', 'spat', 'some-of-each']);
export type Swallowing = z.infer<typeof swallowing>;

/** One assessor's answer to one sheet (`rules/parts.ts`). `id` is made on the device, so that sending twice counts once. */
export const ballotInput = z.object({
  id,
  trayId: id,
  /** Number of the part, from 1, and of the sheet within part and tray, from 1. */
  part: z.number().int().min(1).max(4),
  sheet: z.number().int().min(1).max(40),
  answer,
  comment: optionalText(500),
  /** Said once a tray, with its last sheet; null or left out: not told. */
  swallowing: swallowing.nullish(),
});
export type BallotInput = z.infer<typeof ballotInput>;

/** What the server has on disk for a sheet: the acknowledgement of a ballot. */
export const ballotReceipt = z.object({
  id,
  trayId: id,
  trayNumber: z.number().int(),
  part: z.number().int(),
  sheet: z.number().int(),
  answer,
  comment: z.string(),
  receivedAt: moment,
});
export type BallotReceipt = z.infer<typeof ballotReceipt>;
