import type { SameDifferentResult } from '../../contracts/result-same-different.ts';

/** Everything of a result but its sentences, caveats and notes, which are made from it. */
export type SameDifferentFigures = Omit<SameDifferentResult, 'finding' | 'caveats' | 'methods'>;
