import type { DifferencePart } from '../contracts/part.ts';
import type { SoloAnswer, SoloDifference, SoloPlan, SoloSettings, SoloStep } from '../contracts/solo.ts';
import { DIFFERENCES, differenceOf, placeOfCups } from '../kinds/kinds.ts';
import { sequentialStep, type SequentialState } from '../stats/discrimination/sequential.ts';

// What one person does alone, step by step. Pure: state is read from what is stored, and nothing else decides.

/** Cups of a tray as they are poured: `each` of either arm, and whether one of all is set aside untasted. */
export interface SoloPour {
  each: number;
  poured: number;
  tasted: number;
}

/**
 * How a tray is poured: as many cups of one arm as of the other, so that whoever pours knows nothing of what is left once
 * one cup is set aside. Of the shuffled cups all orders are equally likely, and each leaves another order of the method.
 * Example: `soloPour({ kind: 'triangle', armIds: ['a', 'b'] }).poured` is 4
 */
export function soloPour(settings: Pick<SoloSettings, 'kind' | 'armIds'>): SoloPour {
  if (settings.kind === 'rating') {
    const cups = settings.armIds.length;
    return { each: 1, poured: cups, tasted: cups };
  }
  const [order = ''] = DIFFERENCES[settings.kind].serving(settings).orders;
  const each = Math.ceil(order.length / 2);
  return { each, poured: 2 * each, tasted: order.length };
}

/** A tray as it is stored. */
export interface SoloTrayState {
  answer: SoloAnswer | null;
  stood: { armIds: readonly string[]; asPlanned: boolean } | null;
}

export interface SoloState {
  settings: SoloSettings;
  plan: SoloPlan;
  trays: readonly SoloTrayState[];
  cautionsRead: boolean;
  ended: boolean;
}

/** Does every arm stand under as many cups as were poured of it? */
export function standsAsPlanned(settings: SoloSettings, armIds: readonly string[]): boolean {
  const { each, poured } = soloPour(settings);
  return (
    armIds.length === poured &&
    settings.armIds.every((arm) => armIds.filter((one) => one === arm).length === each)
  );
}

/** The same question as a part of a session has it, so that what is right is said in one place. */
const asPart = ({ kind, armIds, alpha, beta }: SoloDifference): DifferencePart => ({
  kind,
  armIds,
  alpha,
  beta,
  replicates: 1,
  aim: 'difference',
  meaningfulShare: 0.5,
});

/** Did the choice name the odd cup, or cups that belong together? Null for a tray that does not count. */
export function namedAsItStood(
  settings: SoloDifference,
  codes: readonly (string | null)[],
  { answer, stood }: SoloTrayState,
): boolean | null {
  if (answer?.kind !== 'choice' || stood?.asPlanned !== true) return null;
  const asked = codes.flatMap((code, at) => (code === null ? [] : [{ code, armId: stood.armIds[at] ?? '' }]));
  const part = asPart(settings);
  const { places, right } = differenceOf(part);
  const chosen = asked.filter(({ code }) => answer.codes.includes(code));
  return placeOfCups(places, asked, chosen) === placeOfCups(places, asked, right(part, asked, null) ?? []);
}

export interface SoloCount {
  counted: number;
  found: number;
  /** By the lines, after the tray at which they first spoke; 'continue' without lines. */
  state: SequentialState;
  /** Trays, from 1, that came after the lines had spoken: they change nothing. */
  after: number[];
}

/** Counts the trays in order; the first stop by the lines counts. */
export function countSolo({
  settings,
  plan,
  trays,
}: Pick<SoloState, 'settings' | 'plan' | 'trays'>): SoloCount {
  const count: SoloCount = { counted: 0, found: 0, state: 'continue', after: [] };
  if (settings.kind === 'rating') return count;
  for (const [at, tray] of trays.entries()) {
    const named = namedAsItStood(settings, plan.trays[at]?.codes ?? [], tray);
    if (named === null) continue;
    if (count.state !== 'continue') {
      count.after.push(at + 1);
      continue;
    }
    count.counted += 1;
    count.found += named ? 1 : 0;
    if (plan.lines)
      count.state = sequentialStep({ plan: plan.lines, correct: count.found, n: count.counted }).state;
  }
  return count;
}

/** Right answers that would speak after the next tray that counts, by the lines; null without lines. */
export function linesAhead(
  state: Pick<SoloState, 'settings' | 'plan' | 'trays'>,
): { counted: number; found: number; difference: number | null; less: number | null } | null {
  const { lines } = state.plan;
  if (!lines) return null;
  const { counted, found } = countSolo(state);
  const { difference, less } = sequentialStep({ plan: lines, correct: 0, n: counted + 1 });
  return { counted, found, difference, less };
}

const byLines = ({ settings }: Pick<SoloState, 'settings'>): boolean =>
  settings.kind !== 'rating' && settings.stopping === 'by-lines';
const waitsForKey = ({ answer, stood }: SoloTrayState): boolean =>
  answer !== null && answer.kind !== 'left-out' && stood === null;
const numberOf = (trays: readonly SoloTrayState[], is: (tray: SoloTrayState) => boolean): number | null => {
  const at = trays.findIndex(is);
  return at === -1 ? null : at + 1;
};

/** What is done next. With lines a tray is turned before the next is poured; without, all answers come first. */
export function soloStepOf(state: SoloState): SoloStep {
  const { trays, ended, cautionsRead } = state;
  if (!cautionsRead && !ended) return { at: 'cautions' };
  const open = ended ? null : numberOf(trays, ({ answer }) => answer === null);
  const turn = numberOf(trays, waitsForKey);
  if (byLines(state)) {
    if (turn !== null) return { at: 'stood', tray: turn };
    if (open === null || countSolo(state).state !== 'continue') return { at: 'over' };
    return { at: 'tray', tray: open };
  }
  if (open !== null) return { at: 'tray', tray: open };
  return turn === null ? { at: 'over' } : { at: 'stood', tray: turn };
}

/**
 * The lock that the key of a tray hangs on: of the tray by itself where lines decide tray by tray, else of the whole
 * series (null), which is there once no further answer is taken. Undefined: not locked yet, and no key may be entered.
 */
export function lockNeeded(state: SoloState, tray: number): number | null | undefined {
  const own = state.trays[tray - 1];
  if (!own?.answer) return undefined;
  if (byLines(state)) return tray;
  const open = !state.ended && state.trays.some(({ answer }) => answer === null);
  return open ? undefined : null;
}
