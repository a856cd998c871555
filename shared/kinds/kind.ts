import type { Answer } from '../contracts/ballot.ts';
import type { ChoicePart, DifferencePart, FlightPart, Part, PartKind } from '../contracts/part.ts';
import type { PartAtSeat } from '../contracts/seat.ts';
import type { ThurstonianTest } from '../stats/discrimination/psychometric.ts';

// What a kind of part is, in types. The facts stand in one file per kind, and all of them in `kinds.ts`.

export type ChoicePartKind = ChoicePart['kind'];
export type DifferencePartKind = DifferencePart['kind'];
export type FlightPartKind = FlightPart['kind'];
type Parts = { [K in PartKind]: Extract<Part, { kind: K }> };
type PartsAtSeat = { [K in PartKind]: Extract<PartAtSeat, { kind: K }> };
export type PartOf<K extends PartKind> = Parts[K];
export type AtSeat<K extends PartKind> = PartsAtSeat[K];

/** Questions a host can have, in the order in which they are offered. */
export const QUESTIONS = [
  'Do they differ?',
  'Which is preferred?',
  'How much of what?',
  'In which words?',
  'How well liked?',
] as const;

/** What one sheet of a tray is about: the tray as a whole, one of its cups, or one attribute over all of them. */
export type SheetsBy = 'tray' | 'cup' | 'attribute';

/** What every kind says of itself. Functions take settings of their own kind. */
export interface KindFacts<K extends PartKind> {
  kind: K;
  names: {
    /** Within a sentence: 'triangle'. */
    plain: string;
    /** On the button that adds it: 'Triangle'. */
    button: string;
    /** Over its result: 'Triangle test'. */
    heading: string;
    /** In a list of what is asked: 'the triangle test'. */
    asked: string;
  };
  /** Under which question a host finds it, and what it answers and needs. */
  offer: { question: (typeof QUESTIONS)[number]; note: string };
  /** Kind of the answer that one sheet takes. */
  answer: Answer['kind'];
  sheets(settings: { kind: PartKind; by?: 'sample' | 'attribute' }): SheetsBy;
  /** Cups an assessor is led through before the question; none where each sheet is about a cup in hand. */
  tastedFirst: 'all' | 'marked' | 'none';
  /** Does it ask how strong something is, or how well it is liked? Both in one session spoil each other. */
  asksIntensity: boolean;
  asksLiking: boolean;
  /** What an assessor may know of it: the question, never the samples. */
  atSeat(part: PartOf<K>): AtSeat<K>;
  /** Texts of the host's own that an assessor reads, with their paths below the part. */
  textsAtSeat(part: PartOf<K>): { path: string; text: string }[];
  /** What an assessor is asked to do: 'find the different cup'. */
  task: string;
  /** What somebody at the question is doing, for the board: 'choosing the odd one'. */
  doing: string;
  /** What is asked later, told while tasting, so that one tastes for it; empty where nothing is tasted before. */
  tastingHint(part: AtSeat<K>): string;
  /** On the button from the last cup to the question. */
  toQuestion: string;
}

/** Serving orders in the letters A and B, left to right, a reference first. */
export interface Serving {
  orders: readonly string[];
  /** drawn: which arm is A is a matter of chance. given: the first arm is A. stronger: the arm named as stronger is B. */
  letters: 'drawn' | 'given' | 'stronger';
}

/** Something that can be chosen on a tray: one cup, or cups that belong together, by their place among those asked about. */
export interface Place {
  name: string;
  cups: readonly number[];
}

/** Words of a choice as the assessor reads them. */
export interface ChoiceWords {
  question: string;
  hint: string;
  /** Name of the group of cups. */
  group: string;
  /** Stands in a chosen cup. */
  note: string;
  /** Said when the choice is missing. */
  missing: string;
}

/** What is particular to a test of difference, in words and numbers. */
export interface DifferenceTest {
  /** Its name in `shared/stats`: guessing rate and psychometric function belong to it. */
  stats: ThurstonianTest;
  guessRate: number;
  guessWords: string;
  name: string;
  source: string;
  /** Source of its exact test, as the planner says it. */
  planned: string;
  /** Source of the psychometric function. */
  percepts: string;
  /** The rule an assessor is taken to follow. */
  rule: string;
  /** What right answers did: 'found the odd one'. */
  didRight(names: { stronger: string; attribute: string }): string;
}

/** One choice over a tray of two arms. */
export interface ChoiceFacts<K extends ChoicePartKind> extends KindFacts<K> {
  group: 'choice';
  answer: 'choice';
  /** The complete set of serving orders; cups on a tray follow from them. */
  serving(settings: { kind: PartKind; reference?: 'constant' | 'balanced' }): Serving;
  /**
   * Do trays of one seat come in twos, one whose cups are alike and one whose cups differ? Left out: each is dealt by itself.
   */
  pairsOfTrays?: true;
  /** Is the first cup of a tray a marked reference, and not asked about? */
  reference: boolean;
  /** Do settings name the arm expected to have more of an attribute? */
  stronger: 'named' | 'may-be-named' | 'not-named';
  /** Cups an answer names, at least and at most. */
  picks(settings: { kind: PartKind; noPreference?: boolean }): { least: number; most: number };
  /** Is it asked how sure one is, and what told the cups apart? */
  asksWhy: boolean;
  /** What can be chosen, left to right. */
  places: readonly Place[];
  /** The cups a right answer names, none for 'the same'; null where no answer is right or wrong. */
  right<C extends { armId: string }>(
    part: PartOf<K>,
    asked: readonly C[],
    reference: C | null,
  ): readonly C[] | null;
  /** Null where right answers are not counted against guessing: a preference, and what leaves a criterion to people. */
  test: DifferenceTest | null;
  words(part: AtSeat<K>): ChoiceWords;
  /** Heading over the words that come after a choice. */
  toldApart(chosen: readonly string[]): string;
  /** The choice in one sentence, from the codes chosen and all that are asked about. */
  sentence(part: AtSeat<K>, chosen: readonly string[], codes: readonly string[]): string;
  /** What stands on the table, for the host. */
  onTray: string;
  /** Name of the choice in rows of answers. */
  chosenAs: string;
  /** Tray and question in a publication. `both`: the arms by name, in one text. */
  published(part: PartOf<K>, both: string, nameOf: (armId: string) => string): string;
}

export interface DifferenceFacts<K extends DifferencePartKind> extends ChoiceFacts<K> {
  test: DifferenceTest;
}

/** Samples asked about cup by cup, or put in order. */
export interface FlightFacts<K extends FlightPartKind> extends KindFacts<K> {
  group: 'flight';
  /** May it be asked on the cups of the part before it? */
  mayBorrow: boolean;
  /** Arm of a marked cup beside the samples, of which one more is hidden among them; null where there is none. */
  controlArm(part: PartOf<K>): string | null;
  /** What its answers come to, and of marks what they are marks of. */
  reads: { as: 'means'; of: string } | { as: 'shares' } | { as: 'ranks' };
}
