import { z } from 'zod';
import { day } from './common.ts';
import { address } from './publishing.ts';
import { disclosureTier, licence } from './publication.ts';
import { aim } from './part.ts';
import { count } from './result-common.ts';
import { blinding } from './session.ts';

/** What the columns of an effect are in; empty: none is told. */
export const effectScale = z.enum(['d-prime', 'mean difference', 'log-odds', '']);
export type EffectScale = z.infer<typeof effectScale>;

/**
 * A part of a listed publication as who looks across studies wants it; of a rating a line for each attribute. The root of the
 * seal, part and attribute together are the key: a session that stands in several publications is here once, by the newest.
 * What each column means is said here once, for the API's documentation and for CSV.
 */
export const indexLine = z.object({
  root: z
    .string()
    .describe('Root of the seal of the session, SHA-256, hex. The same root is the same tasting.'),
  part: count.describe('Number of the part within the session, from 1.'),
  kind: z.string().describe('What the part asked: triangle, preference, rating, …'),
  attribute: z.string().describe('What was judged, in tests and ratings that name it; otherwise empty.'),
  first: z
    .string()
    .describe(
      'The arm or sample that stands first in the comparison; empty where more than two were compared.',
    ),
  second: z
    .string()
    .describe(
      'The arm or sample that stands second. Where the scale has a sign, an effect above 0 says more for the first.',
    ),
  n: count
    .nullable()
    .describe('Answers in the test, or marks of the two samples; null where that is withheld.'),
  assessors: count.nullable().describe('People who answered the part; null where that is withheld.'),
  scale: effectScale.describe(
    'Of effect and standardError. d-prime: tests of difference, in standard deviations of perception; without a sign but for a directional pair without a direction. mean difference: rating, liking (first less second) and difference from control (sample less hidden control), in the unit of the scale. log-odds: preference, natural logarithm of votes for the first over votes for the second. Empty: no effect is told.',
  ),
  unit: z.string().describe('Unit of a mean difference; empty for other scales.'),
  effect: z
    .number()
    .nullable()
    .describe('The effect; null where it is withheld, or cannot be had from these answers.'),
  standardError: z
    .number()
    .min(0)
    .nullable()
    .describe(
      'Standard error of the effect. Null beside an effect: it cannot be had, as for a d-prime of 0.',
    ),
  aim: aim.nullable().describe('difference or similarity, for tests that have one; otherwise null.'),
  blinding: blinding.describe('double, or single: the host had poured.'),
  tier: disclosureTier.describe(
    'full: figures as computed. coarse, agreed: small panels, figures are rough.',
  ),
  month: z.string().describe('Month of the tasting, YYYY-MM.'),
  address: address.describe('Word after /p/ where the publication stands on this server.'),
  url: z.string().nullable().describe('Its whole address; null where nobody knows it.'),
  version: count.describe('Version of the publication.'),
  publishedOn: day.describe('Day on which that version was published.'),
  licence: licence.describe('SPDX identifier of the licence.'),
  doi: z.string().nullable().describe('DOI of that version, where there is one.'),
  invented: z
    .boolean()
    .describe('true: demo data, no such tasting took place. Leave such lines out of any analysis.'),
  alsoAt: z
    .array(address)
    .describe(
      'Other listed publications that tell the same part; in CSV with spaces between. Do not count them again.',
    ),
});
export type IndexLine = z.infer<typeof indexLine>;

export const publicationIndex = z.object({
  panel: z.string(),
  /** Columns with their meaning, in the order of the CSV. */
  columns: z.array(z.object({ name: z.string(), meaning: z.string() })),
  parts: z.array(indexLine),
});
export type PublicationIndex = z.infer<typeof publicationIndex>;

/** Columns of the index, in order. */
export const INDEX_COLUMNS: readonly { name: keyof IndexLine; meaning: string }[] = Object.entries(
  indexLine.shape,
).map(([name, schema]) => ({ name: name as keyof IndexLine, meaning: schema.description ?? '' }));
