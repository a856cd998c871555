import { z } from 'zod';
import { count, share } from './result-common.ts';
import { siteNumber } from './site.ts';

/** A test whether places agree. */
export const siteTest = z.object({
  /** What of the part it is about: an attribute; empty for the part itself. */
  about: z.string(),
  by: z.enum(['exact', 'chi-square', 'f']),
  /** Pearson's chi-square or F, with its degrees of freedom. */
  statistic: z.number(),
  df1: z.number(),
  df2: z.number().nullable(),
  p: share,
  /** People it rests on. */
  people: count,
});
export type SiteTest = z.infer<typeof siteTest>;

/** A part, place by place. The finding of the part never rests on it. */
export const siteComparison = z.object({
  part: z.number().int(),
  kind: z.string(),
  rows: z.array(
    z.object({
      site: siteNumber,
      /** People with an answer, and their answers. */
      people: count,
      answers: count,
      /** Answers in favour, as the part counts them; null where nothing is counted so. */
      counted: count.nullable(),
    }),
  ),
  /** What is counted: 'right', or the name of the first arm; empty where nothing is. */
  counts: z.string(),
  /** One for the part or for each attribute, p adjusted over attributes by Holm; none where places cannot be compared. */
  tests: z.array(siteTest),
  reading: z.string(),
});
export type SiteComparison = z.infer<typeof siteComparison>;
