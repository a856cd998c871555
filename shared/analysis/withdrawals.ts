import type { ResultDocument } from '../contracts/result.ts';
import { plainCaveat } from './common-caveats.ts';
import { capital, people } from './words.ts';

/**
 * The result of those who stayed, with a caveat in every part that says how many took their answers back. Nobody withdrew:
 * the document as it was.
 */
export function withWithdrawals(document: ResultDocument, withdrawn: number): ResultDocument {
  if (withdrawn === 0) return document;
  const caveat = plainCaveat(
    'serving',
    `${capital(people(withdrawn))} took their answers back. All numbers were counted anew without them.`,
  );
  return {
    ...document,
    parts: document.parts.map((part) => ({ ...part, caveats: [...part.caveats, caveat] })),
  };
}
