import { z } from 'zod';
import { allergen, day, id, text } from './common.ts';
import { publishedDeposit } from './deposit.ts';
import { sampleRole } from './part.ts';
import { forest } from './forest.ts';
import { looks } from './pour.ts';
import { publishedRecord } from './published-record.ts';
import { sideBySide } from './replication.ts';
import { caveat, count, keyReaders, methodNote } from './result-common.ts';
import { siteComparison } from './result-sites.ts';
import { failedPart, partResult } from './result.ts';
import { atReveal } from './reveal-record.ts';
import { sealLeaf } from './seal.ts';
import { blinding, lingering } from './session.ts';
import { spikeAbv, spikeDose, spikeReference } from './spike.ts';

export const licence = z.enum(['CC-BY-4.0', 'CC0-1.0']);
export type Licence = z.infer<typeof licence>;

/** full: 10 people or more. coarse: 5 to 9. agreed: fewer, and only because host and every assessor agreed. */
export const disclosureTier = z.enum(['full', 'coarse', 'agreed']);
export type DisclosureTier = z.infer<typeof disclosureTier>;

/** An opened leaf with its path to the root (hex, from the leaf upwards). */
export const openedLeaf = sealLeaf.extend({ proof: z.array(z.string().regex(/^[0-9a-f]{64}$/)) });
export type OpenedLeaf = z.infer<typeof openedLeaf>;

/** One published observation. No code, place, order, tray, seat or time: nothing that leads through an opened tray to a seat. */
export const publishedRow = z.object({
  part: z.number().int(),
  kind: z.string(),
  /** Drawn afresh for each publication and version; sorted by nothing. */
  person: z.string(),
  sample: z.string().nullable(),
  arm: z.string().nullable(),
  role: sampleRole.nullable(),
  question: z.string(),
  value: z.union([z.string(), z.number()]).nullable(),
  unit: z.string(),
});
export type PublishedRow = z.infer<typeof publishedRow>;

/** Answers by serving order, so that the headline number of a choice test can be counted again from opened trays. */
export const orderCount = z.object({
  part: z.number().int(),
  order: z.string(),
  served: count,
  /** Null: withheld. */
  counted: count.nullable(),
});
export type OrderCount = z.infer<typeof orderCount>;

/**
 * What was planned and stands neither in the sealed settings nor in a result, for protocol.json: light, what lingers, words
 * of the panel's own, and what is known of what was added to cups.
 */
export const plannedBesides = z.object({
  masking: z.boolean(),
  lingering: z.array(lingering).optional(),
  words: z.array(
    z.object({ id: z.string(), word: z.string(), family: z.string(), definition: z.string().nullable() }),
  ),
  spikes: z.array(
    z.object({
      part: z.number().int(),
      spike: z.string(),
      spikeAllergens: z.array(allergen).nullable().optional(),
      spikeAbv: spikeAbv.optional(),
      spikeDose: spikeDose.optional(),
      spikeReference: spikeReference.optional(),
    }),
  ),
});
export type PlannedBesides = z.infer<typeof plannedBesides>;
/** How the cups were served, as far as it was fixed, noted and may be told. */
export const publishedServing = z.object({
  /** Seats started in masking light. */
  masking: z.boolean(),
  /** The host's note to whoever poured, where the host passed it word for word; null: there was one that was not passed; empty: none. */
  note: z.string().nullable(),
  /** What whoever poured noted: degrees Celsius of the liquid (null: not measured), and did the arms look alike. Left out: nothing. */
  temperatureC: z.number().nullable().optional(),
  looks: looks.optional(),
  /** mL per cup, seconds of rest between trays. */
  cupMl: z.number(),
  restSeconds: count,
  /** Smelled and not tasted; ended because something was found unfit. */
  smellOnly: z.boolean(),
  stopped: z.boolean(),
});
export type PublishedServing = z.infer<typeof publishedServing>;

/** Several places of one sealed plan, by number: no name of a place is told. */
export const publishedSites = z.object({
  places: count,
  /** How it was served at each place; `counted`: its answers are among those told. Null: not noted. */
  served: z.array(
    z.object({
      counted: z.boolean(),
      smellOnly: z.boolean(),
      temperatureC: z.number().nullable(),
      looks: looks.nullable(),
      minutesSincePour: z.number().nullable(),
    }),
  ),
  /** Parts place by place; null: withheld. */
  compared: z.array(siteComparison).nullable(),
  saying: z.string(),
});
export type PublishedSites = z.infer<typeof publishedSites>;

export const publishedSession = z.object({
  /** Running number within the publication. */
  number: z.number().int(),
  title: z.string(),
  /** Month in which it was tasted, YYYY-MM. */
  heldIn: z.string().regex(/^\d{4}-\d{2}$/),
  blinding,
  tier: disclosureTier,
  seated: count,
  assessors: count,
  /** People who withdrew their answers up to this version, in all; only told in batches. */
  withdrawn: count,
  /** What was found at the reveal, told where somebody took answers back since; the parts below are later figures. */
  atReveal: atReveal.optional(),
  /** Parts that are told by what was found at the reveal alone. */
  withheld: z.array(failedPart).optional(),
  /** Who had opened the key before the reveal, as counts; left out where it was not written down. */
  keyReaders: keyReaders.optional(),
  /** How it was served; left out in publications from before it was told. */
  serving: publishedServing.optional(),
  /** Left out where it was tasted at one place, and before that was told. */
  sites: publishedSites.optional(),
  /**
   * Tables and figures of the parts that there are and that are told not at all or not whole, so that 'none' and 'withheld' can be
   * told apart. Left out in publications from before it was told.
   */
  untold: z.array(z.object({ part: z.number().int(), figure: z.string() })).optional(),
  seal: z.object({
    root: z.string().regex(/^[0-9a-f]{64}$/),
    fingerprint: z.string(),
    /** Leaves of the whole seal. */
    size: count,
    /** Root over all answers, made when the tasting closed, and the seats under it. Left out where it closed before that was made. */
    answersRoot: z
      .string()
      .regex(/^[0-9a-f]{64}$/)
      .optional(),
    answersSize: count.optional(),
    /** Settings, trays, and samples whose arm may be named; never the seating. */
    leaves: z.array(openedLeaf),
  }),
  /** Which arm a sample id of the trays stands for, and what it was there for. */
  samples: z.array(
    z.object({
      sampleId: z.string(),
      part: z.number().int(),
      arm: z.string(),
      name: z.string(),
      role: sampleRole,
      control: z.enum(['marked', 'hidden']).nullable(),
    }),
  ),
  /** Result of each part, without comments, words of assessors' own, or anything of single people. */
  parts: z.array(partResult),
  orders: z.array(orderCount),
  /** Left out in publications from before it was told. */
  plan: plannedBesides.optional(),
  /** Where it repeats a published tasting: the two beside each other. */
  beside: sideBySide.optional(),
  /** Null where anybody did not agree to row-level data, or the panel is small. */
  rows: z.array(publishedRow).nullable(),
});
export type PublishedSession = z.infer<typeof publishedSession>;

/** A frozen, anonymised snapshot: all that a reader gets, and all that page, package and verifier are made from. */
export const publication = z.object({
  format: z.literal('oddglass-publication-1'),
  title: text(120),
  version: z.number().int().min(1),
  publishedOn: day,
  licence,
  demo: z.boolean(),
  panel: z.string(),
  question: z.string(),
  factor: z.string(),
  /** `id` is that by which the parts name an arm. */
  arms: z.array(z.object({ id, name: z.string(), differs: z.string() })),
  sessions: z.array(publishedSession).min(1),
  /**
   * How many tastings of the trial were sealed and how many revealed when this was published, those told here among them.
   * Left out in publications from before it was told.
   */
  tastings: z.object({ sealed: count, revealed: count }).optional(),
  /** Lines that the host passed, each by itself. */
  comments: z.array(z.string()),
  /** Caveats of the trial record with the host's answers. */
  caveats: z.array(caveat.extend({ answer: z.string() })),
  /**
   * What stood on the tables, united over cups and sessions; `allergensUnknown`: something was added of which nobody knew.
   * Left out in publications from before it was told, which stay as they are byte for byte.
   */
  cautions: z.object({ allergens: z.array(allergen), allergensUnknown: z.boolean() }).optional(),
  /** How the arms were made and what was read of them; left out where the host left it out, and before it was told. */
  record: publishedRecord.optional(),
  /** The same question over several of the sessions beside each other; left out where there is none, and before it was told. */
  forests: z.array(forest).optional(),
  /** What the host added for archives; left out: nothing. */
  deposit: publishedDeposit.optional(),
  /** What made it; left out in publications from before it was told. */
  software: z.object({ name: z.string(), version: z.string() }).optional(),
  methods: z.array(methodNote),
  /** What was done so that nobody is found, in sentences. */
  disclosure: z.array(z.string()),
});
export type Publication = z.infer<typeof publication>;
