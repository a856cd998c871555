import { z } from 'zod';
import { code, id, moment, optionalText } from './common.ts';
import { attribute } from './part.ts';
import { cautions } from './seat.ts';
import { soloResult } from './solo-result.ts';

// A solo series: one person pours, shuffles, tastes, and turns the cups over. Nobody holds a key before that.

/** Tests of difference that one person can pour: as many cups of one arm as of the other, shuffled unseen. */
export const soloMethod = z.enum(['triangle', 'tetrad', 'two-out-of-five']);
export type SoloMethod = z.infer<typeof soloMethod>;

const distinct = (list: readonly string[]): boolean => new Set(list).size === list.length;
const cupMl = z
  .number('Give the millilitres of a cup.')
  .min(5, 'A cup holds at least 5 mL.')
  .max(200, 'At most 200 mL a cup: this is tasting, not drinking.');
const alpha = z.number().gt(0, 'Alpha lies above 0.').max(0.25, 'Alpha lies at or below 0.25.');
const trays = (most: number) =>
  z
    .number('Give a whole number of trays.')
    .int('Give a whole number of trays.')
    .min(1, 'At least one tray.')
    .max(most, `At most ${most} trays.`);

export const soloDifference = z.object({
  kind: soloMethod,
  armIds: z.array(id).length(2, 'This compares two arms.').refine(distinct, 'Choose two different arms.'),
  /** after-all: all answers lock before any cup is turned. by-lines: tray by tray, by lines fixed beforehand. */
  stopping: z.enum(['after-all', 'by-lines']),
  /** Trays; with lines, the most there can be. */
  trays: trays(30),
  cupMl,
  alpha,
  /** Risk of missing a difference of the size that matters. */
  beta: z.number().gt(0, 'Beta lies above 0.').max(0.5, 'Beta lies at or below 0.5.'),
  /** Size of difference that would matter, as d-prime. */
  dPrime: z.number('Give a number.').min(0.5, 'At least 0.5.').max(4, 'At most 4.'),
});
export type SoloDifference = z.infer<typeof soloDifference>;

export const soloRating = z.object({
  kind: z.literal('rating'),
  armIds: z
    .array(id)
    .min(2, 'At least two arms.')
    .max(4, 'At most four arms on one tray.')
    .refine(distinct, 'Choose each arm once.'),
  trays: trays(20),
  cupMl,
  alpha,
  attributes: z
    .array(attribute)
    .min(1, 'At least one attribute.')
    .max(3, 'At most three attributes: every cup is marked on each.')
    .refine((list) => distinct(list.map(({ id: key }) => key)), 'Two attributes have this id.'),
});
export type SoloRating = z.infer<typeof soloRating>;

export const soloSettings = z.discriminatedUnion('kind', [soloDifference, soloRating]);
export type SoloSettings = z.infer<typeof soloSettings>;

/** Sent by the client with an id of its own, so that sending twice counts once. */
export const soloInput = z.object({ id, settings: soloSettings });
export type SoloInput = z.infer<typeof soloInput>;

/** Codes by place, left to right. The cup set aside has none, and is not tasted. */
export const soloTray = z.object({
  codes: z.array(code.nullable()).min(2).max(6),
});
export type SoloTray = z.infer<typeof soloTray>;

/** What stands fixed before the first sip: all of it is sealed, and none of it says what is in a cup. */
export const soloPlan = z.object({
  /** Marks for the slips under the cups: one letter per arm. */
  arms: z.array(z.object({ id, name: z.string(), mark: z.string() })),
  trays: z.array(soloTray),
  /** Lines as they are used: alpha lowered where the exact risk would lie above the one planned. */
  lines: z.object({ guessRate: z.number(), pd: z.number(), alpha: z.number(), beta: z.number() }).nullable(),
});
export type SoloPlan = z.infer<typeof soloPlan>;

const mark = z.number().int().min(0).max(100);
export const soloAnswer = z.discriminatedUnion('kind', [
  /** The cup chosen, or the two that belong together, by code. */
  z.object({ kind: z.literal('choice'), codes: z.array(code).min(1).max(2) }),
  /** For each cup, left to right, its marks in the order of the attributes; null: 'I cannot say'. */
  z.object({ kind: z.literal('marks'), marks: z.array(z.array(mark.nullable()).max(3)).max(4) }),
  /** Does not count, said before any cup of it was turned. */
  z.object({ kind: z.literal('left-out'), why: z.enum(['seen', 'spilt', 'other']) }),
]);
export type SoloAnswer = z.infer<typeof soloAnswer>;

export const soloAnswerInput = z.object({
  id,
  tray: z.number().int().min(1).max(30),
  answer: soloAnswer,
});
export type SoloAnswerInput = z.infer<typeof soloAnswerInput>;

/** What stood where: the arm under each place, left to right, the cup set aside among them. */
export const soloStoodInput = z.object({
  id,
  tray: z.number().int().min(1).max(30),
  armIds: z.array(id).min(2).max(6),
  /** False: the cups were not poured as planned, and it really stood like this; such a tray does not count. */
  asPlanned: z.boolean(),
  /** The entry that it puts right; null: the first. */
  replaces: id.nullable(),
});
export type SoloStoodInput = z.infer<typeof soloStoodInput>;

const hash = z.string().regex(/^[0-9a-f]{64}$/);
export const soloStood = z.object({
  id,
  armIds: z.array(id),
  asPlanned: z.boolean(),
  by: z.string(),
  at: moment,
});
export type SoloStood = z.infer<typeof soloStood>;

export const soloTrayView = z.object({
  number: z.number().int(),
  codes: z.array(z.string().nullable()),
  answer: z.object({ answer: soloAnswer, at: moment, hash }).nullable(),
  /** The newest entry of what stood where; null before the cups are turned. */
  stood: soloStood.nullable(),
  /** Entries that were put right, oldest first. */
  before: z.array(soloStood),
});
export type SoloTrayView = z.infer<typeof soloTrayView>;

/** Where a series is. cautions: nothing is poured yet. over: nothing more is asked. */
export const soloStep = z.discriminatedUnion('at', [
  z.object({ at: z.literal('cautions') }),
  z.object({ at: z.literal('tray'), tray: z.number().int() }),
  z.object({ at: z.literal('stood'), tray: z.number().int() }),
  z.object({ at: z.literal('over') }),
]);
export type SoloStep = z.infer<typeof soloStep>;

export const soloView = z.object({
  id,
  trialId: id,
  trialTitle: z.string(),
  demo: z.boolean(),
  /** Whose palate it is. */
  by: z.string(),
  /** Is it the reader's own? Nobody else answers or turns cups. */
  mine: z.boolean(),
  settings: soloSettings,
  plan: soloPlan,
  seal: z.object({ root: hash, fingerprint: z.string(), text: z.string(), at: moment }),
  step: soloStep,
  endedEarly: z.boolean(),
  /** Moments at which answers were locked for good, with the hash over all answers up to then. */
  locks: z.array(z.object({ tray: z.number().int().nullable(), hash, at: moment })),
  /** Others see trays once the series is over. */
  trays: z.array(soloTrayView),
  cautions,
  /** Once the series is over. */
  result: soloResult.nullable(),
});
export type SoloView = z.infer<typeof soloView>;

/** One line of the list below a trial. */
export const soloLine = z.object({
  id,
  by: z.string(),
  mine: z.boolean(),
  kind: z.enum([...soloMethod.options, 'rating']),
  armNames: z.array(z.string()),
  trays: z.number().int(),
  answered: z.number().int(),
  at: moment,
  over: z.boolean(),
  headline: z.string().nullable(),
});
export type SoloLine = z.infer<typeof soloLine>;
export const soloList = z.object({ series: z.array(soloLine) });
export type SoloList = z.infer<typeof soloList>;

/** What is noted when a series is ended before its last tray; may be empty. */
export const soloEnd = z.object({ note: optionalText(200).default('') });
export type SoloEnd = z.infer<typeof soloEnd>;
