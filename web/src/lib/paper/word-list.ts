import type { PartAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { choiceOf, isChoiceKind } from '@oddglass/shared/kinds/kinds.ts';
import { listsWords } from '@oddglass/shared/paper/form.ts';

/** Do people write words that the desk reads by the list? Then a list of them lies on the table. */
export const needsWordList = (parts: readonly PartAtSeat[]): boolean =>
  parts.some((part) =>
    isChoiceKind(part) ? choiceOf(part).asksWhy : part.kind === 'description' && !listsWords(part),
  );
