import type { ChoicePart, FlightPart, Part } from '../contracts/part.ts';

export interface PartTrouble {
  /** Path below `parts`. */
  at: (string | number)[];
  message: string;
}

/** Are its samples asked about cup by cup, or put in order? */
export function isFlight(part: Part): part is FlightPart {
  return 'samples' in part;
}

/** Is one choice made over a tray of two arms? */
export function isChoice(part: Part): part is ChoicePart {
  return 'armIds' in part;
}

/** Is this part asked on the cups of the part before it? */
export function borrowsCups(part: Part): boolean {
  return isFlight(part) && part.cups === 'before';
}

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

/** What does not fit together in the parts of a session, beyond what each field says by itself. */
export function partTroubles(parts: readonly Part[]): PartTrouble[] {
  return parts.flatMap((part, index) =>
    troublesOf(part, index).map(({ at, message }) => ({ at: [index, ...at], message })),
  );
}

function troublesOf(part: Part, index: number): PartTrouble[] {
  if (part.kind === 'three-afc' || part.kind === 'directional-pair') {
    return part.strongerArmId === null || part.armIds.includes(part.strongerArmId)
      ? []
      : [{ at: ['strongerArmId'], message: 'Choose one of the two arms.' }];
  }
  if (!isFlight(part)) return [];
  return part.cups === 'before' ? troublesOfBorrowing(part, index) : troublesOfFlight(part);
}

function troublesOfBorrowing(part: FlightPart, index: number): PartTrouble[] {
  if (index === 0) return [{ at: ['cups'], message: 'The first part needs cups of its own.' }];
  if (part.kind === 'control') {
    return [{ at: ['cups'], message: 'A difference from control needs its own cups, one of them marked.' }];
  }
  const troubles: PartTrouble[] = [];
  if (part.samples.length > 0) {
    troubles.push({
      at: ['samples'],
      message: 'This part is asked on the cups before it: it has no samples.',
    });
  }
  if (part.cupsEach !== null) {
    troubles.push({ at: ['cupsEach'], message: 'The cups are those of the part before.' });
  }
  if (part.replicates !== 1) {
    troubles.push({ at: ['replicates'], message: 'It is asked as often as the cups before it are served.' });
  }
  return troubles;
}

const LEAST_SAMPLES = 2;

function troublesOfFlight(part: FlightPart): PartTrouble[] {
  const troubles: PartTrouble[] = [];
  const tasted = part.samples.filter(({ role }) => role !== 'warm-up');
  const hidden = part.kind === 'control' ? 1 : 0;
  if (tasted.length + hidden < LEAST_SAMPLES) {
    troubles.push({ at: ['samples'], message: 'Choose at least two samples besides a warm-up.' });
  }
  if (part.samples.length - tasted.length > 1) {
    troubles.push({ at: ['samples'], message: 'One warm-up is enough.' });
  }
  const originals = new Map<string, number>();
  part.samples.forEach(({ armId, role }, place) => {
    if (role !== 'sample') return;
    if (originals.has(armId)) {
      troubles.push({
        at: ['samples', place, 'role'],
        message: 'This arm is a sample already: a second cup of it is a hidden duplicate.',
      });
    }
    originals.set(armId, place);
    if (part.kind === 'control' && armId === part.controlArmId) {
      troubles.push({
        at: ['samples', place, 'armId'],
        message: 'The hidden cup of the control is added by itself.',
      });
    }
  });
  // Two cups of one spiked sample would stand in results as two samples of one name.
  const spiked = new Set<string>();
  part.samples.forEach(({ armId, spike }, place) => {
    if (spike === null) return;
    const liquid = `${armId} ${spike.toLocaleLowerCase('en')}`;
    if (spiked.has(liquid)) {
      troubles.push({ at: ['samples', place, 'spike'], message: 'This spiked sample is there already.' });
    }
    spiked.add(liquid);
  });
  part.samples.forEach(({ armId, role }, place) => {
    if (role === 'duplicate' && !originals.has(armId)) {
      troubles.push({
        at: ['samples', place, 'role'],
        message: 'A duplicate needs its arm among the samples too.',
      });
    }
  });
  const dealt = tasted.length + hidden;
  if (part.cupsEach !== null && part.cupsEach >= dealt && dealt >= LEAST_SAMPLES) {
    troubles.push({
      at: ['cupsEach'],
      message: `There are ${dealt} samples: leave this empty to serve them all, or serve fewer.`,
    });
  }
  return troubles;
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
