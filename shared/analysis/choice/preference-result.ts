import type { Part } from '../../contracts/part.ts';
import type { PreferenceResult } from '../../contracts/result-choice.ts';

export type PreferencePart = Extract<Part, { kind: 'preference' }>;

/** Everything of a result but its sentences, caveats and notes, which are made from it. */
export type PreferenceFigures = Omit<PreferenceResult, 'finding' | 'caveats' | 'methods'>;
