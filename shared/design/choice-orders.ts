import type { ChoicePartKind } from '../kinds/kind.ts';
import { choiceOf } from '../kinds/kinds.ts';

/** Two samples on one tray about which one choice is made. */
export interface ChoiceDesign {
  kind: ChoicePartKind;
  sampleIds: readonly [string, string];
  /** Of a test that names its stronger arm: the sample of it. Of a 3-AFC it stands once beside two of the other. */
  strongerSampleId?: string | null;
  /** Of a duo-trio; constant: the first sample is the reference at every seat. Balanced when it is not given. */
  reference?: 'constant' | 'balanced';
}

/**
 * The complete set of orders of a test, in letters, and whether the letters stand for given samples: where they do not,
 * which sample is A is a matter of chance.
 * @throws RangeError when the two samples are one, or a test that needs it names no stronger sample of its own.
 * Source: the files of the kinds, which hold the orders.
 */
export function choiceOrders(design: ChoiceDesign): {
  orders: readonly string[];
  /** Samples A and B where they are given; null where they are drawn. */
  letters: readonly [string, string] | null;
} {
  const { sampleIds, strongerSampleId } = design;
  const [first, second] = sampleIds;
  if (first === second) throw new RangeError('a choice is between two samples, not one and itself');
  const { serving, names } = choiceOf(design);
  const { orders, letters } = serving(design);
  switch (letters) {
    case 'drawn':
      return { orders, letters: null };
    case 'given':
      return { orders, letters: [first, second] };
    case 'stronger':
      if (strongerSampleId === first) return { orders, letters: [second, first] };
      if (strongerSampleId === second) return { orders, letters: [first, second] };
      throw new RangeError(`a ${names.plain} names which of its samples is the stronger`);
  }
}
