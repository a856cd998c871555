import { z } from 'zod';
import { day, id } from './common.ts';
import { forest } from './forest.ts';
import { count, interval, methodNote, share } from './result-common.ts';
import type { ResultDocument } from './result.ts';
import { sessionState } from './session.ts';

/** A sampling point of the trial, as the story needs it. `at`: moment or day. */
export interface StoryPull {
  id: string;
  name: string;
  at: string;
}

/** What instruments and eyes said of an arm. Null or empty where it was not measured or noted. */
export interface StoryReading {
  /** Null: taken between pulls. */
  pullId: string | null;
  armId: string;
  /** Moment or day. */
  at: string;
  ph: number | null;
  /** Specific gravity, 1.0 for water. */
  sg: number | null;
  temperatureC: number | null;
  takenMl: number | null;
  looks: string;
  smell: string;
}

/** What the fair-test check found of the trial record. */
export interface StoryRecordFinding {
  id: string;
  kind: string;
  sentence: string;
  /** It would undo the comparison of arms by itself. */
  undoesFactor: boolean;
  /** How that is said before a finding; the sentence where it is left out. */
  undoes?: string;
  answered: boolean;
}

/** A mark of a person for an arm: spiked samples and warm-ups are not among them. Declined marks are left out. */
export interface StoryMark {
  part: number;
  attributeId: string;
  armId: string;
  /** Label within the session only: seats are anonymous, so nobody can be followed from one session to the next. */
  assessor: string;
  value: number;
}

/** A revealed session: its result as anybody in the panel may read it, and the marks behind it. */
export interface StorySession {
  id: string;
  /** Day on which it was tasted, YYYY-MM-DD. */
  on: string;
  /** Null: not tied to a pull. Its day then stands on the axis. */
  pullId: string | null;
  result: ResultDocument;
  marks: StoryMark[];
}

/** All that a story stands on, as plain data. Every list may be empty. */
export interface StoryInput {
  trial: { id: string; title: string; question: string; factor: string; demo: boolean };
  arms: {
    id: string;
    name: string;
    differs: string;
    /** Liquid left, mL. */
    volumeMl: number;
    /** YYYY-MM-DD; null: nobody noted it. */
    pitchedOn: string | null;
  }[];
  pulls: StoryPull[];
  readings: StoryReading[];
  sessions: StorySession[];
  /** Sessions that are not revealed: that they exist and how far they are, and nothing else. */
  waiting: { id: string; title: string; state: z.infer<typeof sessionState> }[];
  deviations: { armId: string; on: string; note: string }[];
  record: StoryRecordFinding[];
}

/** Days on the common axis: since pitching, or since the first date where pitching was not noted. */
const x = z.number();

const place = z.object({ sessionId: id, x, on: day });

/** Readings of one kind as a line per arm. */
export const storyReadings = z.object({
  measure: z.enum(['ph', 'gravity', 'temperature']),
  name: z.string(),
  unit: z.string(),
  lines: z.array(z.object({ armId: id, points: z.array(z.object({ x, on: day, value: z.number() })) })),
  sentence: z.string(),
});
export type StoryReadings = z.infer<typeof storyReadings>;

/** A test over sessions. Not planned beforehand; `adjusted` by Holm over all such tests of the story. */
const overTime = z.object({
  method: z.enum(['exact', 'likelihood-ratio', 'mixed']),
  statistic: z.number(),
  df: z.number(),
  /** Denominator degrees of freedom; null where there are none. */
  df2: z.number().nullable(),
  p: share,
  adjusted: share,
  /** Sessions in the test. */
  sessions: count,
});
export type OverTime = z.infer<typeof overTime>;

/** Difference tests of one kind between the same two arms, session after session. */
export const storyDifference = z.object({
  kind: z.string(),
  name: z.string(),
  armIds: z.array(id).length(2),
  points: z.array(
    place.extend({
      part: count,
      sentence: z.string(),
      counted: count,
      answers: count,
      p: share,
      dPrime: z
        .object({
          estimate: z.number().nullable(),
          lower: z.number().nullable(),
          upper: z.number().nullable(),
          level: z.number(),
        })
        .nullable(),
    }),
  ),
  change: overTime.nullable(),
  sentence: z.string(),
});
export type StoryDifference = z.infer<typeof storyDifference>;

/** An attribute or liking by arm and session. */
export const storyAttribute = z.object({
  key: z.string(),
  name: z.string(),
  low: z.string(),
  high: z.string(),
  lowest: z.number(),
  highest: z.number(),
  points: z.array(
    place.extend({
      armId: id,
      mean: z.number(),
      lower: z.number().nullable(),
      upper: z.number().nullable(),
      n: count,
    }),
  ),
  /** Did what sets arms apart change from session to session (arm x session)? */
  change: overTime.nullable(),
  sentence: z.string(),
});
export type StoryAttribute = z.infer<typeof storyAttribute>;

export const storyWord = z.object({
  word: z.string(),
  points: z.array(place.extend({ armId: id, checked: count, asked: count, share, ...interval.shape })),
});
export type StoryWord = z.infer<typeof storyWord>;

/** Something noted, as a mark on the axis. */
export const storySign = z.object({
  kind: z.enum(['deviation', 'looks', 'smell']),
  x,
  on: day,
  armId: id,
  text: z.string(),
});
export type StorySign = z.infer<typeof storySign>;

const statement = z.object({ on: day.nullable(), text: z.string() });

/** What is known of one arm. No score and no rank: kinds of evidence are not added up. */
export const armEvidence = z.object({
  armId: id,
  name: z.string(),
  differs: z.array(statement),
  liking: z.array(statement),
  faults: z.array(statement),
  readings: z.array(statement),
  deviations: z.array(statement),
});
export type ArmEvidence = z.infer<typeof armEvidence>;

/** What a further session could settle between two arms, at which size. */
export const nextSession = z.object({
  armIds: z.array(id).length(2),
  /** Null where no plan can be had with the people and the liquid there are. */
  plan: z
    .object({
      kind: z.string(),
      assessors: count,
      alpha: z.number(),
      power: share,
      dPrime: z.number(),
      share,
      needMl: z.array(z.number()),
    })
    .nullable(),
  /** What the size is planned for: the lower plausible limit of what was seen, or the size that matters. */
  from: z.enum(['lower-limit', 'matters']),
  sentence: z.string(),
});
export type NextSession = z.infer<typeof nextSession>;

/** What a further session could settle about one attribute, or liking, of two arms, at which size. */
export const nextMarks = z.object({
  /** Key of the attribute in `attributes`. */
  key: z.string(),
  armIds: z.array(id).length(2),
  /** Null where no plan can be had with the people and the liquid there are. */
  plan: z
    .object({
      kind: z.enum(['rating', 'liking']),
      assessors: count,
      /** Cups of each arm that everybody marks, on trays of their own. */
      trays: count,
      alpha: z.number(),
      /** At least. */
      power: share,
      /** Difference of the means it is planned for, and how far a person's mean of an arm scatters; units of the scale. */
      difference: z.number(),
      scatter: z.number(),
      needMl: z.array(z.number()),
    })
    .nullable(),
  from: nextSession.shape.from,
  sentence: z.string(),
});
export type NextMarks = z.infer<typeof nextMarks>;

export const story = z.object({
  format: z.literal('oddglass-story-1'),
  trial: z.object({
    id,
    title: z.string(),
    question: z.string(),
    factor: z.string(),
    demo: z.boolean(),
  }),
  arms: z.array(z.object({ id, name: z.string(), differs: z.string() })),
  axis: z.object({
    from: z.enum(['pitching', 'date']),
    /** The day at 0; null where nothing has a date. */
    zero: day.nullable(),
    label: z.string(),
    first: x,
    last: x,
  }),
  finding: z.object({ headline: z.string(), lede: z.string() }),
  pulls: z.array(z.object({ id: z.string(), name: z.string(), on: day, x })),
  readings: z.array(storyReadings),
  sessions: z.array(
    place.extend({
      title: z.string(),
      pull: z.string().nullable(),
      findings: z.array(z.object({ part: count, kind: z.string(), headline: z.string(), lede: z.string() })),
      /** Parts not told, so that nobody's answer can be worked out, or that could not be worked out. */
      left: count,
    }),
  ),
  /** Sessions before their reveal: nothing else of them is here. */
  waiting: z.array(z.object({ id, title: z.string(), state: sessionState })),
  differences: z.array(storyDifference),
  attributes: z.array(storyAttribute),
  /** The same question over several sessions beside each other. */
  forests: z.array(forest).default([]),
  words: z.array(storyWord),
  signs: z.array(storySign),
  /** Unanswered findings of the fair-test check. */
  open: z.array(z.object({ sentence: z.string(), undoesFactor: z.boolean() })),
  /** Tests over time made here, for which p is adjusted. */
  tests: count,
  forward: z.object({
    arms: z.array(armEvidence),
    notShown: z.array(z.string()),
    next: z.array(nextSession),
    nextMarks: z.array(nextMarks).default([]),
  }),
  notes: z.array(z.string()),
  methods: z.array(methodNote),
});
export type Story = z.infer<typeof story>;

/** A story in one line, for lists. `spark`: d' or mean by session on the common axis, oldest first. */
export const storyLine = z.object({
  trialId: id,
  headline: z.string(),
  spark: z
    .object({
      name: z.string(),
      points: z.array(
        z.object({ x, value: z.number(), lower: z.number().nullable(), upper: z.number().nullable() }),
      ),
    })
    .nullable(),
});
export type StoryLine = z.infer<typeof storyLine>;
