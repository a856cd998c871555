import type { BaseMaking } from '@oddglass/shared/contracts/making.ts';
import { gravityFromBrix, gravityFromPlato } from '@oddglass/shared/fermentation/gravity.ts';

const FROM = {
  sg: (value: number) => value,
  plato: (plato: number) => gravityFromPlato({ plato }).gravity,
  brix: (brix: number) => gravityFromBrix({ brix }).gravity,
} as const;

/** With the specific gravity that goes with what was typed, so that the two never tell different things. */
export function withGravity(making: BaseMaking): BaseMaking {
  const typed = making.originalGravityTyped;
  if (typed === null) return making;
  return { ...making, originalGravity: Math.round(FROM[typed.unit](typed.value) * 10_000) / 10_000 };
}
