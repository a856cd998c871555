import { z } from 'zod';
import { count, share } from './result-common.ts';

/** What a part said at the reveal, kept for good. */
export const partRecord = z.object({
  part: z.number().int(),
  kind: z.string(),
  headline: z.string(),
  /** What was claimed, in a word that names no arm. */
  verdict: z.enum([
    'no-data',
    'difference-shown',
    'difference-not-shown',
    'similarity-shown',
    'similarity-not-shown',
    'preference-shown',
    'preference-not-shown',
  ]),
  /** People with an answer, and answers that were counted. */
  assessors: count,
  answers: count,
  /** Answers in favour: right ones, or for the arm named more often; null where nothing is counted so. */
  counted: count.nullable(),
  /** Of the planned test; null where there is none, or more than one. */
  p: share.nullable(),
});
export type PartRecord = z.infer<typeof partRecord>;

/** What is kept of a session at its reveal: its parts, and how many people had taken their answers back by then. */
export interface RevealRecord {
  parts: PartRecord[];
  withdrawn: number;
}

/** The record of the reveal beside a result, with how many people took their answers back since. */
export const atReveal = z.object({ parts: z.array(partRecord), withdrawnSince: count });
export type AtReveal = z.infer<typeof atReveal>;
