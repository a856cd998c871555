import { z } from 'zod';
import { caveat, count, methodNote, share } from './result-common.ts';

const limits = {
  estimate: z.number().nullable(),
  lower: z.number().nullable(),
  upper: z.number().nullable(),
};

/** How far the panel agrees on one thing: an attribute, the order, the choice of words. */
export const agreementMeasure = z.object({
  /** 'bitterness', 'degree of difference', 'order', 'words checked'. */
  about: z.string(),
  /** Samples judged, and people who judged at least one. */
  samples: count,
  assessors: count,
  /** Krippendorff's alpha, with missing marks; its bootstrap interval is short of its level with few samples. */
  alpha: z.object({
    ...limits,
    level: z.number(),
    scale: z.enum(['nominal', 'ordinal', 'interval']),
    resamples: count,
  }),
  /** Intraclass correlations of one assessor (2,1) and of the panel's mean (2,k); null when marks are missing. */
  icc: z.object({ level: z.number(), single: z.object(limits), mean: z.object(limits) }).nullable(),
  /** Kendall's W over those who judged every sample; `adjusted` is p for all measures of the part together (Holm). */
  concordance: z
    .object({
      w: z.number().nullable(),
      p: share,
      adjusted: z.number(),
      /** Does the panel have a common order here: is `adjusted` at most 0.05? */
      common: z.boolean(),
      assessors: count,
      route: z.string(),
    })
    .nullable(),
  /** Gwet's AC1 and the plain share of agreeing pairs, where words were checked or not. */
  ac1: z.object({ ...limits, level: z.number(), observed: z.number().nullable() }).nullable(),
  reading: z.string(),
});
export type AgreementMeasure = z.infer<typeof agreementMeasure>;

export const assessorFinding = z.enum([
  'does-not-separate',
  'other-way-round',
  'unsteady',
  'steady',
  'narrow-scale',
  'ends-of-scale',
  'own-words',
]);
export type AssessorFinding = z.infer<typeof assessorFinding>;

/** One assessor under a label that says nothing of seat or name. */
export const assessorAgreement = z.object({
  assessor: z.string(),
  marks: count,
  /** Standard deviation between own marks of the same liquid, in units of the scale, and the pairs behind it. */
  repeatability: z
    .object({ standardDeviation: z.number(), degreesOfFreedom: count, beside: z.number().nullable() })
    .nullable(),
  /**
   * Does this person tell the samples apart? Fisher's combination of the own F tests, on what the panel tells apart;
   * `withPattern` joins how closely the means follow or oppose those of the others.
   */
  discrimination: z.object({ p: share, withPattern: share, attributes: count }).nullable(),
  /** Correlation with the mean of the others, by what it is about; null where not defined. */
  agreement: z.array(z.object({ about: z.string(), correlation: z.number().nullable() })),
  /** Marks lie higher (+) or lower (-) than those of the others, and spread wider (> 1) or less, typical of all attributes. */
  scale: z
    .object({ shift: z.number().nullable(), width: z.number().nullable(), atEnds: z.number() })
    .nullable(),
  /** Overlap of words with those of the others, 0 to 1. */
  overlap: share.nullable(),
  findings: z.array(z.object({ finding: assessorFinding, about: z.string().nullable() })),
  /** The same in kind words. */
  words: z.string(),
});
export type AssessorAgreement = z.infer<typeof assessorAgreement>;

export const partAgreement = z.object({
  part: z.number().int(),
  kind: z.enum(['rating', 'control', 'ranking', 'description']),
  measures: z.array(agreementMeasure),
  assessors: z.array(assessorAgreement),
  /** Overlap of words beyond habit: between choices for the same sample, and between choices for different ones. */
  overlap: z.object({ same: z.number().nullable(), across: z.number().nullable() }).nullable(),
});
export type PartAgreement = z.infer<typeof partAgreement>;

/** How far the assessors agree, part by part, and what would help most. */
export const agreementResult = z.object({
  headline: z.string(),
  parts: z.array(partAgreement),
  /** What to train next, most useful first. */
  training: z.array(z.string()),
  caveats: z.array(caveat),
  methods: z.array(methodNote),
});
export type AgreementResult = z.infer<typeof agreementResult>;
