import { z } from 'zod';
import { id, moment } from './common.ts';
import { sampleRole } from './part.ts';
import { servingConditions } from './pour.ts';
import { blinding, paperEntry } from './session.ts';
import { siteStanding } from './site.ts';

export const count = z.number().int().min(0);
/** A probability, or a part of a whole: 0 to 1. */
export const share = z.number().min(0).max(1);
export const interval = z.object({ lower: z.number(), upper: z.number() });

/** How a number was made: its method, published source, inputs and the assumption it needs. */
export const methodNote = z.object({
  id: z.string(),
  name: z.string(),
  explains: z.string(),
  source: z.string(),
  inputs: z.string(),
  assumption: z.string(),
});
export type MethodNote = z.infer<typeof methodNote>;

export const caveat = z.object({
  /** deviation, fair-test: from the trial record; the others follow from how the session was run. */
  from: z.enum(['deviation', 'fair-test', 'blinding', 'design', 'serving', 'generalisation', 'computation']),
  arm: z.string().nullable(),
  on: z.string().nullable(),
  text: z.string(),
});
export type Caveat = z.infer<typeof caveat>;

/** Accounts that opened the key before the reveal, and how many of them a host had invited after the plan was sealed. */
export const keyReaders = z.object({ accounts: count, invited: count });
export type KeyReaders = z.infer<typeof keyReaders>;

/** What a result says of the tasting as a whole. No seat, code, time or name, so that a publication can stand on it. */
export const sessionFacts = z.object({
  title: z.string(),
  trialTitle: z.string(),
  question: z.string(),
  factor: z.string(),
  demo: z.boolean(),
  /** Nothing was tasted: it is what a rehearsal came to. Left out of what a tasting says. */
  rehearsal: z.literal(true).optional(),
  arms: z.array(z.object({ id, name: z.string(), differs: z.string() })),
  blinding,
  /** The cups were smelled and not tasted; the tasting ended because something was unfit. Not told by older results. */
  smellOnly: z.boolean().default(false),
  stopped: z.boolean().default(false),
  /** How often the host handed a seat over to another device while people tasted. Left out: not told. */
  handedOver: count.optional(),
  /** People whose answers came from paper, and how often each ballot was entered. Left out: none, or not told. */
  paper: z.object({ ballots: count, entered: paperEntry }).optional(),
  /** In how many waves of at most so many seats people tasted; left out: all at once, or not told. */
  waves: z.object({ called: z.number().int().min(2), seatsAtOnce: z.number().int().min(1) }).optional(),
  /** Who opened the key before the reveal; left out: not written down. */
  keyReaders: keyReaders.optional(),
  /** How it was served, as whoever poured noted it; left out: nothing was noted. */
  conditions: servingConditions.optional(),
  /** The places of one sealed plan, in order; left out where it was one. */
  sites: z
    .array(
      z.object({
        /** Its name, or for readers its number. */
        name: z.string(),
        /** Where its people answered; elsewhere: its ballots were not brought before the close. */
        standing: siteStanding,
        smellOnly: z.boolean(),
        conditions: servingConditions.optional(),
      }),
    )
    .optional(),
  fingerprint: z.string(),
  root: z.string(),
  /** Root over all answers as the tasting closed, and whether they are the same today. Left out where there is none. */
  answersRoot: z.string().optional(),
  answersIntact: z.boolean().optional(),
  revealedAt: moment,
  /** Seats planned for the expected assessors, mL per cup, seconds of rest. */
  assessors: count,
  cupMl: z.number(),
  restSeconds: count,
});
export type SessionFacts = z.infer<typeof sessionFacts>;

/** A sample as it stands in a result, in the order in which the plan names them. */
export const sampleFacts = z.object({
  /** Key of the sample through one result: 's1', 's2', …; carries no order of pouring. */
  key: z.string(),
  armId: id,
  /** 'Cool', 'Cool (hidden duplicate)', 'Cool + 2 mL rum', 'Cool (hidden control)'. */
  name: z.string(),
  role: sampleRole,
  spike: z.string().nullable(),
  /** The hidden cup of the control, in a difference from control. */
  control: z.boolean(),
});
export type SampleFacts = z.infer<typeof sampleFacts>;

/** Who came to a part: people seated, people with at least one answer, sheets answered and left unanswered. */
export const servedFacts = z.object({ seated: count, assessors: count, answers: count, unanswered: count });
export type ServedFacts = z.infer<typeof servedFacts>;

/** What every part of a result has: its finding first, then what the figures rest on. */
export const partFrame = z.object({
  /** Number of the part, from 1. */
  part: z.number().int(),
  served: servedFacts,
  finding: z.object({
    /** One or two short sentences, the first thing read. */
    headline: z.string(),
    /** The finding with its uncertainty. */
    lede: z.string(),
  }),
  caveats: z.array(caveat),
  methods: z.array(methodNote),
  /**
   * Of a small panel, as published: every p that does not follow from counts told is the upper end of its band
   * (`bandOf`), and means and ranks are rounded to steps.
   */
  bands: z.literal(true).optional(),
});
