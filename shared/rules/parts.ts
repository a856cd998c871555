import { borrowsCups, isChoice } from '../contracts/part-fit.ts';
import type { LateQuestion, Part } from '../contracts/part.ts';
import { controlArmOf, cupsOfChoice, kindOf } from '../kinds/kinds.ts';

/** Index of the part whose cups a part is asked on: its own, or the nearest before it that has cups. */
export function cupsIndex(parts: readonly Part[], index: number): number {
  let at = index;
  while (at > 0 && borrowsCups(parts[at] as Part)) at -= 1;
  return at;
}

/** Arms a part pours, each once, in the order in which they are named. */
export function armsOfPart(part: Part): string[] {
  if (isChoice(part)) return [...part.armIds];
  const named = part.samples.map(({ armId }) => armId);
  const control = controlArmOf(part);
  return [...new Set(control === null ? named : [control, ...named])];
}

/** Arms of the whole session, each once. */
export function armsOfParts(parts: readonly Part[]): string[] {
  return [...new Set(parts.flatMap(armsOfPart))];
}

/** One question set on a tray: what one ballot answers. */
export interface Sheet {
  /** Number of the part, from 1. */
  part: number;
  /** Running number within part and tray, from 1. */
  sheet: number;
  /** Codes of the cups it asks about, left to right. */
  codes: string[];
  /** Attributes it asks for; empty outside of rating. */
  attributeIds: string[];
  /** It is the late question of its cup; otherwise left out. */
  late?: true;
}

/** The late question of a part; null where there is none. */
export function lateOf(part: Part): LateQuestion | null {
  return part.kind === 'description' ? (part.late ?? null) : null;
}

/** A word as results and tables name it when it was said at the late question: 'mousy, after 60 s'. */
export function lateWord(word: string, { seconds }: Pick<LateQuestion, 'seconds'>): string {
  return `${word}, after ${seconds} s`;
}

export interface TrayOfPart {
  /** Number of the part that the tray was poured for, from 1. */
  part: number;
  servings: readonly { position: number; code: string; mark: string | null }[];
}

/**
 * Everything asked on one tray, in order: the part it was poured for, then the parts that follow on the same cups.
 * Marked cups are there to compare with; nothing is asked about them.
 */
export function sheetsOfTray(parts: readonly Part[], tray: TrayOfPart): Sheet[] {
  const codes = [...tray.servings]
    .sort((a, b) => a.position - b.position)
    .filter(({ mark }) => mark === null)
    .map(({ code }) => code);
  return parts.flatMap((part, index) =>
    cupsIndex(parts, index) + 1 === tray.part
      ? sheetsOfPart(part, codes).map((sheet) => ({ part: index + 1, ...sheet }))
      : [],
  );
}

function sheetsOfPart(part: Part, codes: string[]): Omit<Sheet, 'part'>[] {
  const sheet = (at: number, asked: string[], attributeIds: string[]): Omit<Sheet, 'part'> => ({
    sheet: at + 1,
    codes: asked,
    attributeIds,
  });
  const ids = 'attributes' in part ? part.attributes.map(({ id }) => id) : [];
  const by = kindOf(part).sheets(part);
  switch (by) {
    case 'cup':
      // The late question of a cup comes before the next cup is touched.
      return lateOf(part)
        ? codes.flatMap((code, at) => [
            sheet(2 * at, [code], ids),
            { ...sheet(2 * at + 1, [code], ids), late: true as const },
          ])
        : codes.map((code, at) => sheet(at, [code], ids));
    case 'attribute':
      return ids.map((id, at) => sheet(at, codes, [id]));
    case 'tray':
      return [sheet(0, codes, ids)];
  }
}

/** Cups on one tray of a part with cups of its own: all, and those that something is asked about. */
export function cupsOnTray(part: Part): { cups: number; asked: number } {
  if (isChoice(part)) {
    const { cups, asked } = cupsOfChoice(part);
    return { cups, asked };
  }
  const warmUps = part.samples.filter(({ role }) => role === 'warm-up').length;
  const control = controlArmOf(part) === null ? 0 : 1;
  const dealt = part.cupsEach ?? part.samples.length - warmUps + control;
  return { cups: dealt + warmUps + control, asked: dealt + warmUps };
}

/**
 * Is it a warm-up, which stands at the same place at every seat, before all but a marked cup? The settings say which arm it
 * is, so that its code would tell an arm to whoever may not know one.
 */
export function isWarmUpCup(
  parts: readonly Part[],
  { part: number, servings }: TrayOfPart,
  code: string,
): boolean {
  const part = parts[number - 1];
  if (!part || isChoice(part)) return false;
  const warmUps = part.samples.filter(({ role }) => role === 'warm-up').length;
  return [...servings]
    .sort((a, b) => a.position - b.position)
    .filter(({ mark }) => mark === null)
    .slice(0, warmUps)
    .some((cup) => cup.code === code);
}

/** How often a seat gets the tray of a part; where settings do not say so, once. */
export function replicatesOf(part: Part): number {
  return 'replicates' in part ? part.replicates : 1;
}

/** Does a tray that does not count come before the others? */
export function hasWarmUpTray(part: Part): boolean {
  return isChoice(part) && part.warmUpTray === true;
}

/** Trays each seat gets in a part, one that does not count included: none when it is asked on cups already there. */
export function traysOfPart(part: Part): number {
  if (borrowsCups(part)) return 0;
  return replicatesOf(part) + (hasWarmUpTray(part) ? 1 : 0);
}

/** What every seat gets over all parts: trays, cups and sheets to answer. */
export function workloadPerSeat(parts: readonly Part[]): { trays: number; cups: number; sheets: number } {
  let [trays, cups, sheets] = [0, 0, 0];
  parts.forEach((part, index) => {
    const own = traysOfPart(part);
    trays += own;
    cups += own * cupsOnTray(part).cups;
    const base = parts[cupsIndex(parts, index)] as Part;
    const codes = Array<string>(cupsOnTray(base).asked).fill('');
    sheets += traysOfPart(base) * sheetsOfPart(part, codes).length;
  });
  return { trays, cups, sheets };
}
