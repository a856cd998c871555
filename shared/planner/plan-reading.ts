import type { PartKind } from '../contracts/part.ts';
import type { SessionSettings } from '../contracts/session.ts';
import type { DifferencePartKind } from '../kinds/kind.ts';

/** What the planner needs to know of an arm. */
export interface PlannedArm {
  id: string;
  name: string;
  /** Liquid left, mL. */
  volumeMl: number;
  /** Per cent by volume; null when unknown. */
  abv: number | null;
}

export type PlannedSettings = Omit<SessionSettings, 'title'>;

/** What a test of difference between two arms can show. */
export interface DifferenceReading {
  /** Answers the test will rest on: trays for a difference, people for similarity. */
  answers: number;
  /**
   * Fewest right answers that show a difference (without a written direction: answers for one arm, whichever); null when
   * no count of this panel can.
   */
  critical: number | null;
  /** Most right answers that still show similarity; null when the aim is difference or no count can. */
  mostCorrect: number | null;
  /**
   * Chance that the test finds what it is planned for, 0 to 1; with several trays each of a difference as low as persons
   * who differ can make it.
   */
  power: number;
  /** The same were the trays of one palate independent; equal to power with one tray each. */
  powerIfIndependent: number;
  /** Smallest panels that reach the power asked for: the first, and the first from which on every larger one does. */
  smallestAssessors: { first: number; stable: number } | null;
}

/** One test with so many trays each, and what it can find with these people and this liquid. */
export interface ComparedTest {
  kind: DifferencePartKind;
  name: string;
  trays: number;
  /** Share of discriminators that the size comes to in this test: not to be compared with that of another. */
  share: number;
  power: number;
  cupsEach: number;
  /** mL of each arm for the expected assessors, in the order of the arms of the part. */
  needMl: number[];
  enough: boolean;
  /** Ethanol each if all is swallowed, g; null when an ABV is unknown. */
  ethanolGrams: number | null;
  /** Must it be known beforehand in what the arms differ, and which has more? */
  needsDirection: boolean;
  /** Assessors who would reach the power asked for, first and from then on; null when not within 400. */
  smallest: { first: number; stable: number } | null;
}

export interface TestComparison {
  dPrime: number;
  /** Power asked for. */
  goal: number;
  rows: ComparedTest[];
  /** Rows that reach the goal with the liquid there is, the best first: few cups, and no direction needed. */
  best: ComparedTest[];
  saying: string;
}

export interface PlanFigure {
  label: string;
  value: string;
  /** How it is computed, with its source. */
  note: string;
}

export interface PartReading {
  /** Number of the part, from 1. */
  part: number;
  kind: PartKind;
  /** Cups and trays each assessor gets for it; 0 when it is asked on the cups of the part before. */
  cupsEach: number;
  traysEach: number;
  figures: PlanFigure[];
  /** Null for everything but a test of difference. */
  difference: DifferenceReading | null;
  /** All tests beside it for the same size of difference; null where there is none to compare. */
  comparison: TestComparison | null;
  /** What results could and could not mean, in sentences. */
  sayings: string[];
  /** What to mend or to know before sealing. */
  warnings: string[];
}

export interface PlannedLiquid {
  armId: string;
  name: string;
  /** Most cups the expected assessors can need over all parts, and mL for them. */
  cups: number;
  needMl: number;
  /** On top, mL, if every spare seat is taken. */
  spareMl: number;
  leftMl: number;
  enough: boolean;
  /** The same for each of several places, in the order of the plan; left out at one place. */
  sites?: { name: string; cups: number; needMl: number; spareMl: number }[];
}

export interface PlanReading {
  /** Over all parts, for each assessor. */
  cupsEach: number;
  traysEach: number;
  /** Ethanol each if everything is swallowed, at most, g; null when an ABV is unknown. */
  ethanolGrams: number | null;
  /** Of each arm that is poured, in the order in which the parts name them. */
  liquid: PlannedLiquid[];
  parts: PartReading[];
  /** Of the session as a whole. */
  sayings: string[];
  warnings: string[];
}
