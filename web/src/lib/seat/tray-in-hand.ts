import { ballotInput, confidence, type BallotInput } from '@oddglass/shared/contracts/ballot.ts';
import { code, id } from '@oddglass/shared/contracts/common.ts';
import type { Progress, SeatView } from '@oddglass/shared/contracts/seat.ts';
import { z } from 'zod';

export type Tray = SeatView['trays'][number];

export const COMMENT_LIMIT = 500;
export const WORD_LIMIT = 12;

export const trayStep = z.enum(['tasting', 'choosing', 'describing', 'reviewing']);
export type TrayStep = z.infer<typeof trayStep>;

/** An answer being made: nothing in it is chosen until the assessor chooses. The ballot's id is made once. */
export const draft = z.object({
  ballotId: id,
  trayId: id,
  replicate: z.number().int(),
  step: trayStep,
  /** The cup in hand, 1 to 3. */
  position: z.number().int().min(1).max(3),
  odd: code.nullable(),
  confidence: confidence.nullable(),
  descriptors: z.array(z.string()),
  comment: z.string(),
});
export type Draft = z.infer<typeof draft>;

/** Cups in the order of tasting, whatever order they came in. */
export function cupsOf(tray: Tray): Tray['servings'] {
  return [...tray.servings].sort((a, b) => a.position - b.position);
}

/** The next tray without an answer, here or at the host; undefined when all are answered. */
export function nextTray(view: SeatView, keptTrayIds: readonly string[]): Tray | undefined {
  return [...view.trays]
    .sort((a, b) => a.replicate - b.replicate)
    .find(({ id: trayId, ballot }) => ballot === null && !keptTrayIds.includes(trayId));
}

/**
 * Where to go on with a tray: from what this device kept; else, on another device, from the mark the host has.
 * Answers not sent stay on the device they were made on, so another one goes back to the choice at most.
 */
export function resume(tray: Tray, kept: Draft | null, mark: Progress | null, ballotId: string): Draft {
  if (kept && kept.trayId === tray.id) return settle(tray, kept);
  const fresh: Draft = {
    ballotId,
    trayId: tray.id,
    replicate: tray.replicate,
    step: 'tasting',
    position: 1,
    odd: null,
    confidence: null,
    descriptors: [],
    comment: '',
  };
  if (mark?.replicate !== tray.replicate) return fresh;
  if (mark.step === 'tasting') return { ...fresh, position: mark.position ?? 1 };
  return { ...fresh, step: 'choosing', position: 3 };
}

/** A choice that is not of this tray, or a step beyond what is chosen, leads back to the choice. */
function settle(tray: Tray, kept: Draft): Draft {
  const odd = tray.servings.some((serving) => serving.code === kept.odd) ? kept.odd : null;
  const settled = { ...kept, odd };
  const beyond = settled.step === 'describing' || settled.step === 'reviewing';
  return beyond && !isChosen(settled) ? { ...settled, step: 'choosing' } : settled;
}

/** Has the tray been begun, here or on another device? Then its rest is over. */
export function isBegun(tray: Tray, kept: Draft | null, mark: Progress | null): boolean {
  return kept?.trayId === tray.id || mark?.replicate === tray.replicate;
}

export function isChosen({ odd, confidence: sure }: Pick<Draft, 'odd' | 'confidence'>): boolean {
  return odd !== null && sure !== null;
}

/** One step on; the choice is not left without both its answers. */
export function forward(current: Draft): Draft {
  switch (current.step) {
    case 'tasting':
      return current.position < 3
        ? { ...current, position: current.position + 1 }
        : { ...current, step: 'choosing' };
    case 'choosing':
      return isChosen(current) ? { ...current, step: 'describing' } : current;
    case 'describing':
      return isComplete(current) ? { ...current, step: 'reviewing' } : current;
    case 'reviewing':
      return current;
  }
}

/** Back within the tray in hand: to taste it again from the first cup, to the choice, to the words. */
export function backTo(current: Draft, step: TrayStep): Draft {
  return step === 'tasting' ? { ...current, step, position: 1 } : { ...current, step };
}

/** Chooses a word or takes it back; a thirteenth word is not taken. */
export function toggleWord(chosen: readonly string[], word: string): string[] {
  if (chosen.includes(word)) return chosen.filter((other) => other !== word);
  return chosen.length < WORD_LIMIT ? [...chosen, word] : [...chosen];
}

/** Length as the server counts it: trimmed and composed. */
export function commentLength(comment: string): number {
  return comment.trim().normalize().length;
}

function isComplete(current: Draft): boolean {
  return ballotInput.safeParse(looseBallot(current)).success;
}

const looseBallot = ({ ballotId, trayId, odd, confidence: sure, descriptors, comment }: Draft) => ({
  id: ballotId,
  trayId,
  odd,
  confidence: sure,
  descriptors,
  comment,
});

/** The ballot of a finished draft, in the form the server will store. Throws when something is missing. */
export function toBallot(current: Draft): BallotInput {
  return ballotInput.parse(looseBallot(current));
}

/** What the host hears of where a seat is. */
export function markOf({ replicate, step, position }: Draft): Progress {
  return { replicate, step, position: step === 'tasting' ? position : null };
}

/** Words by family; families and words keep the order given to this seat. */
export function byFamily(words: SeatView['words']): { family: string; words: SeatView['words'] }[] {
  const families = new Map<string, SeatView['words']>();
  for (const word of words) families.set(word.family, [...(families.get(word.family) ?? []), word]);
  return [...families].map(([family, members]) => ({ family, words: members }));
}
