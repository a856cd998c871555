import type { ChoiceResult } from '../../contracts/result-choice.ts';

/** Everything of a result but its sentences, caveats and notes, which are made from it. */
export type ChoiceFigures = Omit<ChoiceResult, 'finding' | 'caveats' | 'methods'>;
