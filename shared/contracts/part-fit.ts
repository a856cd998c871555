import type { ChoicePart, FlightPart, Part } from './part.ts';

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
