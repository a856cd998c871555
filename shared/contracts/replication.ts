import { z } from 'zod';
import { id, optionalText, text, webAddress } from './common.ts';

/**
 * A figure of the original: how large something was, by the imported package. Arms stand by their place in the protocol, so
 * that a sealed plan names none.
 */
export const originalFigure = z.object({
  part: z.number().int().min(1).max(4),
  kind: text(40),
  /** d-prime: of a difference test. share: of those who preferred the first arm. marks: mean of the first less mean of the second. */
  measure: z.enum(['d-prime', 'share', 'marks']),
  /** Attribute it is about; empty where the part is about one thing. */
  about: optionalText(60),
  /** Unit or scale of marks; empty for others. */
  scale: optionalText(120),
  /** Places of the two arms among those of the protocol, from 0. */
  arms: z.array(z.number().int().min(0).max(7)).length(2),
  /** null: without a bound, as d-prime is where everybody was right. */
  effect: z.number().nullable(),
  standardError: z.number().min(0).nullable(),
  /** Degrees of freedom of the standard error; null where it is taken as known. */
  df: z.number().positive().nullable(),
  /** Limits as published, and the share of intervals that hold the truth; null where none were told. */
  lower: z.number().nullable(),
  upper: z.number().nullable(),
  level: z.number().gt(0).lt(1).nullable(),
  /** Answers, or people with marks. */
  n: z.number().int().min(0),
  /** Answers that the test counts; null where marks were given, or where it is not told. */
  counted: z.number().int().min(0).nullable(),
});
export type OriginalFigure = z.infer<typeof originalFigure>;

const hex = z.string().regex(/^[0-9a-f]{64}$/);

/** What a session repeats. Chosen with its draft and sealed with it, so that it cannot be chosen by the result. */
export const replication = z.object({
  /** Root of the seal of the original session. */
  root: hex,
  title: text(120),
  /** Of its publication, where it is known. */
  address: webAddress.nullable(),
  /** SHA-256 of SHA256SUMS of the imported package; null: only its protocol was imported. */
  digest: hex.nullable(),
  /** Arms of this trial in the order of the original's protocol. */
  armIds: z.array(id).min(2).max(8),
  /** None where only the protocol was imported. */
  figures: z.array(originalFigure).max(300),
});
export type Replication = z.infer<typeof replication>;

/** How far two figures lie apart: this one less the original. Null limits: without a bound on that side. */
export const apart = z.object({
  estimate: z.number(),
  lower: z.number().nullable(),
  upper: z.number().nullable(),
  level: z.number(),
  /** likelihood: of two d-primes. score: of two shares. error: by both standard errors. */
  by: z.enum(['likelihood', 'score', 'error']),
});
export type Apart = z.infer<typeof apart>;

/** A replication beside what it repeats, as it is published. */
export const sideBySide = z.object({
  replication: replication.omit({ armIds: true, figures: true }),
  rows: z.array(
    z.object({
      part: z.number().int(),
      /** 'Triangle test, Cool and Warm, “fruity”'. */
      name: z.string(),
      measure: originalFigure.shape.measure,
      original: originalFigure,
      own: originalFigure,
      apart: apart.nullable(),
      /** What is compatible, in a sentence or two. */
      reading: z.string(),
    }),
  ),
  /** What could not be set beside, and what the whole rests on, in sentences. */
  notes: z.array(z.string()),
});
export type SideBySide = z.infer<typeof sideBySide>;
