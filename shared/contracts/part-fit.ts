import type { ChoicePart, FlightPart, Part } from './part.ts';

export interface PartError {
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
export function partErrors(parts: readonly Part[]): PartError[] {
  return parts.flatMap((part, index) =>
    [...errorsOf(part, index), ...errorsOfBase(parts, index)].map(({ at, message }) => ({
      at: [index, ...at],
      message,
    })),
  );
}

/** For likeness beta is the risk of a false claim, as alpha is for a difference. Our own bound; ISO 4120 speaks of 0.05. */
export const MAX_BETA_OF_LIKENESS = 0.1;

function errorsOf(part: Part, index: number): PartError[] {
  if (isChoice(part)) {
    const stronger = 'strongerArmId' in part ? part.strongerArmId : null;
    return [
      ...(stronger === null || part.armIds.includes(stronger)
        ? []
        : [{ at: ['strongerArmId'], message: 'Choose one of the two arms.' }]),
      ...('aim' in part && part.aim === 'similarity' && part.beta > MAX_BETA_OF_LIKENESS
        ? [
            {
              at: ['beta'],
              message: `For likeness beta is the risk of claiming it wrongly: ${MAX_BETA_OF_LIKENESS} or less.`,
            },
          ]
        : []),
    ];
  }
  return [
    ...(part.cups === 'before' ? errorsOfBorrowing(part, index) : errorsOfFlight(part)),
    ...errorsOfLate(part),
  ];
}

/** What is asked late is compared with what was said at first, so it has to be offered then. */
function errorsOfLate(part: FlightPart): PartError[] {
  if (part.kind !== 'description' || !part.late || part.words === null) return [];
  const offered = new Set(part.words);
  return part.late.words.flatMap((word, place) =>
    offered.has(word)
      ? []
      : [{ at: ['late', 'words', place], message: 'Offer it among the words of the cup too.' }],
  );
}

function errorsOfBorrowing(part: FlightPart, index: number): PartError[] {
  if (index === 0) return [{ at: ['cups'], message: 'The first part needs cups of its own.' }];
  if ('controlArmId' in part) {
    return [{ at: ['cups'], message: 'A difference from control needs its own cups, one of them marked.' }];
  }
  const errors: PartError[] = [];
  if (part.samples.length > 0) {
    errors.push({
      at: ['samples'],
      message: 'This part is asked on the cups before it: it has no samples.',
    });
  }
  if (part.cupsEach !== null) {
    errors.push({ at: ['cupsEach'], message: 'The cups are those of the part before.' });
  }
  if (part.replicates !== 1) {
    errors.push({ at: ['replicates'], message: 'It is asked as often as the cups before it are served.' });
  }
  return errors;
}

/** What is asked on the cups of another part needs both arms on every tray. */
function errorsOfBase(parts: readonly Part[], index: number): PartError[] {
  const part = parts[index];
  if (!part || !borrowsCups(part)) return [];
  const base = parts.slice(0, index).findLast((one) => !borrowsCups(one));
  if (base?.kind !== 'same-different') return [];
  const message = 'Half of the trays before it hold one arm only: give this part cups of its own.';
  return [{ at: ['cups'], message }];
}

const MIN_SAMPLES = 2;

function errorsOfFlight(part: FlightPart): PartError[] {
  const errors: PartError[] = [];
  const tasted = part.samples.filter(({ role }) => role !== 'warm-up');
  const control = 'controlArmId' in part ? part.controlArmId : null;
  const hidden = control === null ? 0 : 1;
  if (tasted.length + hidden < MIN_SAMPLES) {
    errors.push({ at: ['samples'], message: 'Choose at least two samples besides a warm-up.' });
  }
  if (part.samples.length - tasted.length > 1) {
    errors.push({ at: ['samples'], message: 'One warm-up is enough.' });
  }
  const originals = new Map<string, number>();
  part.samples.forEach(({ armId, role }, place) => {
    if (role !== 'sample') return;
    if (originals.has(armId)) {
      errors.push({
        at: ['samples', place, 'role'],
        message: 'This arm is a sample already: a second cup of it is a hidden duplicate.',
      });
    }
    originals.set(armId, place);
    if (armId === control) {
      errors.push({
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
      errors.push({ at: ['samples', place, 'spike'], message: 'This spiked sample is there already.' });
    }
    spiked.add(liquid);
  });
  part.samples.forEach(({ armId, role }, place) => {
    if (role === 'duplicate' && !originals.has(armId)) {
      errors.push({
        at: ['samples', place, 'role'],
        message: 'A duplicate needs its arm among the samples too.',
      });
    }
  });
  const dealt = tasted.length + hidden;
  if (part.cupsEach !== null && part.cupsEach >= dealt && dealt >= MIN_SAMPLES) {
    errors.push({
      at: ['cupsEach'],
      message: `There are ${dealt} samples: leave this empty to serve them all, or serve fewer.`,
    });
  }
  return errors;
}
