import type { Publication } from '../contracts/publication.ts';
import { listed } from '../ground/phrases.ts';
import { ALLERGEN_WORDS } from '../vocabulary/allergens.ts';

/** What stood on the table, in a sentence or two, without telling in which cup. */
export function allergensInWords({
  allergens,
  allergensUnknown,
}: NonNullable<Publication['cautions']>): string {
  const held =
    allergens.length > 0
      ? `Allergens named for the samples together: ${listed(allergens.map((name) => ALLERGEN_WORDS[name]))}.`
      : 'No allergens were named for the samples.';
  return allergensUnknown
    ? `${held} Of something that was added nobody knew which allergens it holds.`
    : held;
}
