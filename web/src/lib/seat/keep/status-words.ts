import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { KeptBallot } from './outbox.ts';

const answers = (kept: readonly Pick<KeptBallot, 'name'>[]): string =>
  kept.length === 1 ? `Your answer for ${kept[0]?.name} is` : `${kept.length} answers are`;

/** What is kept here and what the host has, in one honest line. */
export function statusWords(state: {
  kept: readonly KeptBallot[];
  /** Answers the host has acknowledged, and how many there will be. */
  received: number;
  sheets: number;
  /** An answer is being made. */
  drafting: boolean;
  away: boolean;
}): string {
  const [refused] = state.kept.filter(({ state: how }) => how === 'refused');
  if (refused) {
    return `The host did not take ${refused.name}: ${refused.detail} Kept on this tablet; call the host.`;
  }
  const waiting = state.kept.filter(({ state: how }) => how === 'waiting');
  if (waiting.length > 0) {
    const kept = `${answers(waiting)} kept on this tablet`;
    if (state.away) return `${kept} and sent when the network is back`;
    return `${kept} until the host has ${waiting.length === 1 ? 'it' : 'them'}`;
  }
  if (state.drafting) return 'Kept on this tablet until you send it';
  if (state.received === 0) return '';
  if (state.received === state.sheets) return 'The host has all your answers';
  return `The host has ${state.received} of your ${state.sheets} answers`;
}

export const CONFIDENCE_WORDS = {
  certain: 'Certain',
  'fairly-sure': 'Fairly sure',
  guess: 'I guessed',
} as const;

const SURE_WORDS = { certain: 'certain', 'fairly-sure': 'fairly sure', guess: 'guessed' } as const;

/** An answer in few words, to recognise it by. Marks on a scale are not told as numbers. */
export function answerWords(answer: Answer): string {
  switch (answer.kind) {
    case 'choice': {
      // Where how sure one is was asked, naming no cup says that they are the same.
      const none = answer.confidence ? 'the same' : 'no preference';
      const chosen = answer.chosen.length > 0 ? answer.chosen.join(' and ') : none;
      return answer.confidence ? `${chosen}, ${SURE_WORDS[answer.confidence]}` : chosen;
    }
    case 'ranking':
      return `${answer.order.join(', ')}, from least to most`;
    case 'description': {
      const count = answer.words.length + answer.ownWords.length;
      return answer.none ? 'none of the words' : `${count} ${count === 1 ? 'word' : 'words'}`;
    }
    case 'late':
      return answer.none ? 'none of the words' : `${answer.words.length} of the words asked for late`;
    case 'rating':
      return `${answer.marks.length} ${answer.marks.length === 1 ? 'mark' : 'marks'}`;
    case 'control':
      return answer.degree === null ? 'I cannot say' : 'one degree';
    case 'liking':
      return answer.value === null ? 'I cannot say' : 'one mark';
  }
}
