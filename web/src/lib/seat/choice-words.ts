import type { PartAtSeat } from '@oddglass/shared/contracts/seat.ts';

/** Kinds on which one choice is made over a tray. */
export type ChoiceAtSeat = Exclude<
  PartAtSeat,
  { kind: 'rating' | 'description' | 'control' | 'liking' | 'ranking' }
>;

export const isChoicePart = (part: PartAtSeat): part is ChoiceAtSeat =>
  !['rating', 'description', 'control', 'liking', 'ranking'].includes(part.kind);

export interface ChoiceWords {
  question: string;
  hint: string;
  /** Name of the group of cups. */
  group: string;
  /** Stands in a chosen cup. */
  note: string;
  /** Said when the choice is missing. */
  missing: string;
  /** Name of the button from the last cup to the question. */
  toQuestion: string;
}

const GUESS = 'You tasted left to right. If you can’t tell, guess, and say so below.';

/** Words of a choice, by kind. Forced everywhere but in a preference. */
export function choiceWords(part: ChoiceAtSeat): ChoiceWords {
  const forced = { hint: GUESS, missing: 'Choose one cup first.', toQuestion: 'Tasted. Choose one' };
  switch (part.kind) {
    case 'triangle':
      return {
        ...forced,
        question: 'Two of these are the same. Which one is different?',
        group: 'The different cup',
        note: 'different',
        toQuestion: 'Tasted. Choose the odd one',
      };
    case 'duo-trio':
      return {
        ...forced,
        question: 'Which of the two is the same as the reference?',
        group: 'The cup that is the same as the reference',
        note: 'same',
      };
    case 'tetrad':
      return {
        ...forced,
        question: 'Which two belong together?',
        hint: 'Two and two of these are the same. Choose two; tap one again to take it back. If you can’t tell, guess.',
        group: 'Two cups that belong together',
        note: 'together',
        missing: 'Choose two cups first.',
        toQuestion: 'Tasted. Choose two',
      };
    case 'three-afc':
      return {
        ...forced,
        question: `Which has the most ${part.attribute}?`,
        group: `The cup with the most ${part.attribute}`,
        note: 'most',
      };
    case 'directional-pair':
      return {
        ...forced,
        question: `Which has more ${part.attribute}?`,
        group: `The cup with more ${part.attribute}`,
        note: 'more',
      };
    case 'preference':
      return {
        question: 'Which do you prefer?',
        hint: part.noPreference
          ? 'There is no right answer. Say so if you prefer neither.'
          : 'There is no right answer. Choose one, even if it is a close call.',
        group: 'The cup you prefer',
        note: 'preferred',
        missing: part.noPreference ? 'Choose a cup, or say no preference.' : 'Choose one cup first.',
        toQuestion: 'Tasted. Choose one',
      };
  }
}

/** What is asked later, told while tasting, so that one tastes for it. */
export function tastingHint(part: PartAtSeat): string {
  switch (part.kind) {
    case 'triangle':
      return 'Two of the three are the same.';
    case 'duo-trio':
      return 'One of the other two is the same as the reference.';
    case 'tetrad':
      return 'Two and two of the four are the same.';
    case 'three-afc':
      return `You will be asked which has the most ${part.attribute}.`;
    case 'directional-pair':
      return `You will be asked which has more ${part.attribute}.`;
    case 'preference':
      return 'You will be asked which you prefer.';
    case 'ranking':
      return `You will be asked to put them in order of ${part.attribute}.`;
    default:
      return '';
  }
}

/** Heading over the words that come after a choice. */
export function toldApartQuestion(part: ChoiceAtSeat, chosen: readonly string[]): string {
  switch (part.kind) {
    case 'duo-trio':
      return 'What told the other cup apart?';
    case 'tetrad':
      return 'What told the two pairs apart?';
    case 'three-afc':
    case 'directional-pair':
      return `What else told ${chosen[0]} apart?`;
    default:
      return `What told ${chosen[0]} apart?`;
  }
}

/** The choice in one sentence, for the review and for those who do not see the picture. */
export function choiceSentence(
  part: ChoiceAtSeat,
  chosen: readonly string[],
  codes: readonly string[],
): string {
  const [cup] = chosen;
  switch (part.kind) {
    case 'triangle':
      return `${cup} is different; the others are the same`;
    case 'duo-trio':
      return `${cup} is the same as the reference`;
    case 'tetrad': {
      const others = codes.filter((code) => !chosen.includes(code));
      return `${chosen.join(' and ')} belong together, and so do ${others.join(' and ')}`;
    }
    case 'three-afc':
      return `${cup} has the most ${part.attribute}`;
    case 'directional-pair':
      return `${cup} has more ${part.attribute}`;
    case 'preference':
      return cup === undefined ? 'No preference' : `You prefer ${cup}`;
  }
}
