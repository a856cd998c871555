import { z } from 'zod';
import { day, id, moment, text } from './common.ts';

/** What somebody saw, smelled or tasted of an arm that speaks of how it was made. */
export const sign = z.enum([
  'foam-early',
  'film',
  'rope',
  'stale',
  'vinegar',
  'sulphur',
  'leak',
  'too-warm',
  'too-cold',
  'mould',
]);
export type Sign = z.infer<typeof sign>;

/** Something that stands between the arms besides the factor, or that nobody knows. */
export const fairTestFinding = z.object({
  /** The same for the same matter: 'difference temperatureC', 'sign film <arm>'. */
  id: z.string(),
  kind: z.enum(['sign', 'difference', 'unknown']),
  arms: z.array(id),
  /** What is known, in a sentence. */
  says: z.string(),
  /** What it may do to the comparison. */
  matters: z.string(),
  source: z.string(),
  /** Short, where the factor may not be what was compared at all: said first of every finding. */
  undoes: z.string().nullable(),
  /** What the finding stands on, arm by arm: an answer holds as long as these stay. */
  grounds: z.array(z.string()),
});
export type FairTestFinding = z.infer<typeof fairTestFinding>;

/** A host's answer to one finding; append-only, the newest one that still holds counts. */
export const fairTestAnswerInput = z.object({
  finding: z.string().min(1).max(200),
  grounds: z.array(z.string().max(400)).max(200),
  answer: text(500),
});
export type FairTestAnswerInput = z.infer<typeof fairTestAnswerInput>;

export const fairTestAnswer = z.object({
  answer: z.string(),
  writtenBy: z.string(),
  writtenAt: moment,
});
export type FairTestAnswer = z.infer<typeof fairTestAnswer>;

export const answeredFinding = fairTestFinding.extend({ answered: fairTestAnswer.nullable() });
export type AnsweredFinding = z.infer<typeof answeredFinding>;

/** A sign as it was noted. */
export const notedSign = z.object({ sign, on: day });
export type NotedSign = z.infer<typeof notedSign>;
