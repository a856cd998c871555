import type { AnsweredFinding } from '../../contracts/fair-test.ts';
import type { NotedDeviation } from './deviations.ts';
import type { Answer, Swallowing } from '../../contracts/ballot.ts';
import type { Part } from '../../contracts/part.ts';
import type { SampleFacts, SessionFacts } from '../../contracts/result-common.ts';
import type { CupMark, SessionSettings } from '../../contracts/session.ts';
import type { RandomSource } from '../../ground/random.ts';
import { isFlight } from '../../contracts/part-fit.ts';
import type { DilutionCheck } from '../../rules/dilution.ts';
import { cupsIndex } from '../../rules/parts.ts';

/** A cup as it was served, with what was in it. */
export interface ServedCup {
  code: string;
  /** Left to right, from 1. */
  position: number;
  mark: CupMark | null;
  /** Key of the sample, as in `PartInput.samples`. */
  sample: string;
  armId: string;
}

/** One sheet as asked and answered (`rules/parts.ts`). */
export interface ServedSheet {
  sheet: number;
  /** Codes of the cups asked about, left to right. */
  codes: readonly string[];
  attributeIds: readonly string[];
  /** Null when it was left unanswered. */
  answer: Answer | null;
  comment: string;
}

/** One tray of one person, with the sheets that a part asked on it. */
export interface ServedTray {
  /** A label that is the same for all trays of one person, and says nothing else. */
  assessor: string;
  /** How often the person has had such a tray, from 1. */
  replicate: number;
  cups: readonly ServedCup[];
  /** What became of the cups; left out: not told. */
  swallowing?: Swallowing;
  sheets: readonly ServedSheet[];
}

/** How the dilution of one spiked bottle was checked, and the part it was poured for, from 1. */
export interface SpikedPart {
  part: number;
  check: DilutionCheck;
}

/** What readers of a publication are not told. */
export interface Unanalysed {
  /** Parts with repeated trays of which it is not told how single palates did. */
  palates: number[];
  /** Words that too few people gave, by the part in which they gave them. */
  words: { part: number; ids: string[] }[];
}

/** Everything an analysis of one part stands on. Trays of the seats that were taken, in any order. */
export interface PartInput<P extends Part = Part> {
  session: SessionFacts;
  settings: SessionSettings;
  /** Number of the part, from 1, and what it asked. */
  number: number;
  part: P;
  /** Samples on its trays: warm-ups, duplicates and the hidden control included. */
  samples: readonly SampleFacts[];
  trays: readonly ServedTray[];
  deviations: readonly NotedDeviation[];
  /** What stands between its arms besides the factor; left out: not looked at. */
  fairTest?: readonly AnsweredFinding[];
  /** Of each spiked bottle on its trays; left out where nothing is known of it. */
  dilutions?: readonly DilutionCheck[];
  /** How many swallowed and how many spat is known and kept from readers. */
  swallowingWithheld?: true;
  /** What no figure may be made of, since readers are not told it; left out: everything is told. */
  unanalysed?: { palates: boolean; words: ReadonlySet<string> };
  /** Name and family of a word by its id, in the vocabulary the session was asked with. */
  words: ReadonlyMap<string, { word: string; family: string }>;
  /** Kinds of all parts of the session, in order: liking beside intensity is a caveat. */
  kinds: readonly Part['kind'][];
  /** For resampling; the same session gives the same source, so that its numbers come again. */
  random: (purpose: string) => RandomSource;
}

/** People, answers and gaps of a part. */
export function servedFacts(trays: readonly ServedTray[]): {
  seated: number;
  assessors: number;
  answers: number;
  unanswered: number;
} {
  const sheets = trays.flatMap(({ assessor, sheets: asked }) =>
    asked.map(({ answer }) => ({ assessor, answer })),
  );
  const answered = sheets.filter(({ answer }) => answer !== null);
  return {
    seated: new Set(trays.map(({ assessor }) => assessor)).size,
    assessors: new Set(answered.map(({ assessor }) => assessor)).size,
    answers: answered.length,
    unanswered: sheets.length - answered.length,
  };
}

/** Were the cups dealt in incomplete blocks? Of a part asked on the cups before it, those cups decide. */
export function dealtInBlocks({ settings, number }: Pick<PartInput, 'settings' | 'number'>): boolean {
  const own = settings.parts[cupsIndex(settings.parts, number - 1)];
  return own !== undefined && isFlight(own) && own.cupsEach !== null;
}
