import type { Part } from '../contracts/part.ts';
import { isChoice, borrowsCups } from '../contracts/part-fit.ts';

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
  return [...new Set(part.kind === 'control' ? [part.controlArmId, ...named] : named)];
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
    cupsIndex(parts, index) + 1 === tray.part ? sheetsOfPart(part, index + 1, codes) : [],
  );
}

function sheetsOfPart(part: Part, number: number, codes: string[]): Sheet[] {
  const sheet = (at: number, asked: string[], attributeIds: string[] = []): Sheet => ({
    part: number,
    sheet: at + 1,
    codes: asked,
    attributeIds,
  });
  switch (part.kind) {
    case 'rating': {
      const ids = part.attributes.map(({ id }) => id);
      return part.by === 'sample'
        ? codes.map((code, at) => sheet(at, [code], ids))
        : ids.map((id, at) => sheet(at, codes, [id]));
    }
    case 'description':
    case 'control':
    case 'liking':
      return codes.map((code, at) => sheet(at, [code]));
    default:
      return [sheet(0, codes)];
  }
}

/** Cups on one tray of a part with cups of its own: all, and those that something is asked about. */
export function cupsOnTray(part: Part): { cups: number; asked: number } {
  switch (part.kind) {
    case 'triangle':
    case 'three-afc':
      return { cups: 3, asked: 3 };
    case 'duo-trio':
      return { cups: 3, asked: 2 };
    case 'tetrad':
      return { cups: 4, asked: 4 };
    case 'directional-pair':
    case 'preference':
      return { cups: 2, asked: 2 };
    default: {
      const warmUps = part.samples.filter(({ role }) => role === 'warm-up').length;
      const control = part.kind === 'control' ? 1 : 0;
      const dealt = part.cupsEach ?? part.samples.length - warmUps + control;
      return { cups: dealt + warmUps + control, asked: dealt + warmUps };
    }
  }
}

/** Trays each seat gets in a part: none when it is asked on cups already there. */
export function traysOfPart(part: Part): number {
  if (borrowsCups(part)) return 0;
  return part.kind === 'preference' ? 1 : part.replicates;
}

/** What every seat gets over all parts: trays, cups and sheets to answer. */
export function tableOf(parts: readonly Part[]): { trays: number; cups: number; sheets: number } {
  let [trays, cups, sheets] = [0, 0, 0];
  parts.forEach((part, index) => {
    const own = traysOfPart(part);
    trays += own;
    cups += own * cupsOnTray(part).cups;
    const base = parts[cupsIndex(parts, index)] as Part;
    const codes = Array.from({ length: cupsOnTray(base).asked }, (_, at) => String(at));
    sheets += traysOfPart(base) * sheetsOfPart(part, index + 1, codes).length;
  });
  return { trays, cups, sheets };
}
