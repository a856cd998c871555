import type { ResultDocument } from '../../contracts/result.ts';
import { plainCaveat } from './caveats.ts';
import { capital, people } from '../../ground/phrases.ts';

/**
 * The result of those who stayed, with a caveat in every part that says how many took their answers back. Nobody withdrew:
 * the result as it was.
 */
export function withWithdrawals(result: ResultDocument, withdrawn: number): ResultDocument {
  if (withdrawn === 0) return result;
  const caveat = plainCaveat(
    'serving',
    `${capital(people(withdrawn))} took their answers back. All numbers were counted anew without them.`,
  );
  return {
    ...result,
    parts: result.parts.map((part) => ({ ...part, caveats: [...part.caveats, caveat] })),
  };
}
