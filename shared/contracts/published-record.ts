import { z } from 'zod';
import { count } from './result-common.ts';

/** One line of how the arms were made: its values in the order of the publication's arms; null: unknown. */
const makingLine = z.object({
  field: z.string(),
  label: z.string(),
  /** factor: what was meant to differ. differs: it differs besides. same: as near as it can be kept, or told by one arm only. */
  standing: z.enum(['factor', 'differs', 'same']),
  values: z.array(z.string().nullable()),
});

/** What an instrument said of an arm. No moment, no person, no volume: nothing that leads to an evening or to who stood there. */
export const publishedReading = z.object({
  arm: z.string(),
  /** Whole days since day 0 (`since`); before it below zero. */
  day: z.number().int(),
  pull: z.enum(['planned', 'unplanned']),
  ph: z.number().nullable(),
  /** Specific gravity. */
  gravity: z.number().nullable(),
  temperatureC: z.number().nullable(),
  /** What was noted beside, as far as the host let it through; otherwise empty. */
  notes: z.string(),
});
export type PublishedReading = z.infer<typeof publishedReading>;

/**
 * How the arms were made and what was read of them, without dates and without people. Holds nothing that anybody tasted: that
 * stands with the sessions, and what a page tells of it beside the readings is taken from there.
 */
export const publishedRecord = z.object({
  since: z.enum(['pitching', 'first-note']),
  /** What all arms share, told once. */
  base: z.array(z.object({ label: z.string(), value: z.string() })),
  making: z.array(makingLine),
  /** What the fair-test check finds, with the host's answer. */
  findings: z.array(
    z.object({
      kind: z.enum(['sign', 'difference', 'unknown']),
      says: z.string(),
      matters: z.string(),
      source: z.string(),
      undoes: z.string().nullable(),
      answer: z.string().nullable(),
    }),
  ),
  /** Standing readings only, by arm and then as they were taken. */
  readings: z.array(publishedReading),
  /** How many there are, to count again. */
  read: z.array(
    z.object({ arm: z.string(), readings: count, ph: count, gravity: count, temperatureC: count }),
  ),
  /** Calendar months from that of day 0 to that of each session: no more than two months tell. */
  tastings: z.array(z.object({ session: z.number().int(), months: z.number().int() })),
  /** What is not told, in sentences. */
  leftOut: z.array(z.string()),
});
export type PublishedRecord = z.infer<typeof publishedRecord>;
