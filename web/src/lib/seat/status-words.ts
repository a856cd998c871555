import type { KeptBallot } from './outbox.ts';

const trays = (kept: readonly KeptBallot[]): string => {
  const numbers = kept.map(({ replicate }) => replicate);
  const last = numbers.at(-1);
  if (numbers.length < 2) return `tray ${last}`;
  return `trays ${numbers.slice(0, -1).join(', ')} and ${last}`;
};
const upper = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
const is = (kept: readonly KeptBallot[]): string => (kept.length === 1 ? 'is' : 'are');

/** What is kept here and what the host has, in one honest line. */
export function statusWords(state: {
  kept: readonly KeptBallot[];
  /** Trays the host has acknowledged. */
  received: readonly number[];
  /** An answer is being made. */
  drafting: boolean;
  away: boolean;
}): string {
  const refused = state.kept.filter(({ state: how }) => how === 'refused');
  if (refused.length > 0) {
    return `The host did not take ${trays(refused)}: ${refused[0]?.detail} Kept on this tablet; call the host.`;
  }
  const waiting = state.kept.filter(({ state: how }) => how === 'waiting');
  if (waiting.length > 0) {
    const kept = `${upper(trays(waiting))} ${is(waiting)} kept on this tablet`;
    return state.away ? `${kept} and sent when the network is back` : `${kept} until the host has it`;
  }
  if (state.drafting) return 'Kept on this tablet until you send it';
  const last = state.received.at(-1);
  if (last === undefined) return '';
  return state.received.length === 1
    ? `The host has tray ${last}`
    : `The host has your ${state.received.length} trays`;
}

export const CONFIDENCE_WORDS = {
  certain: 'Certain',
  'fairly-sure': 'Fairly sure',
  guess: 'I guessed',
} as const;
