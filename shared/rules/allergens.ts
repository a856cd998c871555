import type { Allergen } from '../contracts/common.ts';
import { isFlight } from '../contracts/part-fit.ts';
import type { Part } from '../contracts/part.ts';
import { armsOfParts } from './parts.ts';

/** What stands on the table, without telling in which cup. */
export interface TableAllergens {
  /** Sorted, each once. */
  allergens: Allergen[];
  /** Something is added of which nobody knows, or told, what allergens it holds. Never taken as none. */
  unknown: boolean;
}

/** Allergens of the poured arms and of whatever is added to them, united. Arms that are not poured are left out. */
export function tableAllergens(
  parts: readonly Part[],
  arms: readonly { id: string; allergens: readonly Allergen[] }[],
): TableAllergens {
  const poured = armsOfParts(parts);
  const spiked = parts
    .flatMap((part) => (isFlight(part) ? part.samples : []))
    .filter(({ role }) => role === 'spiked');
  const held = [
    ...arms.filter(({ id }) => poured.includes(id)).flatMap(({ allergens }) => allergens),
    ...spiked.flatMap(({ spikeAllergens }) => spikeAllergens ?? []),
  ];
  return {
    allergens: [...new Set(held)].sort(),
    unknown: spiked.some(({ spikeAllergens }) => spikeAllergens === null || spikeAllergens === undefined),
  };
}
