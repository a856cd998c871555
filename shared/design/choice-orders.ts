import { DUO_TRIO_BALANCED_ORDERS, DUO_TRIO_CONSTANT_ORDERS } from './duo-trio.ts';
import { PAIR_ORDERS, THREE_AFC_ORDERS } from './forced-choice.ts';
import { TETRAD_ORDERS } from './tetrad.ts';
import { TRIANGLE_ORDERS } from './triangle.ts';

export type ChoiceKind = 'triangle' | 'duo-trio' | 'tetrad' | 'three-afc' | 'directional-pair' | 'preference';

/** Two samples on one tray about which one choice is made. */
export interface ChoiceDesign {
  kind: ChoiceKind;
  sampleIds: readonly [string, string];
  /** Of a 3-AFC: the sample that stands once beside two of the other. */
  strongerSampleId?: string | null;
  /** Of a duo-trio; constant: the first sample is the reference at every seat. Balanced when it is not given. */
  reference?: 'constant' | 'balanced';
}

/**
 * The complete set of orders of a test, in letters, and whether the letters stand for given samples: where they do not,
 * which sample is A is a matter of chance.
 * @throws RangeError when the two samples are one, or a 3-AFC names no stronger sample of its own.
 * Source: ISO 4120, ISO 10399, ISO 5495; tetrad and 3-AFC by counting.
 */
export function choiceOrders(design: ChoiceDesign): {
  orders: readonly string[];
  /** Samples A and B where they are given; null where they are drawn. */
  letters: readonly [string, string] | null;
} {
  const { kind, sampleIds, strongerSampleId, reference } = design;
  const [first, second] = sampleIds;
  if (first === second) throw new RangeError('a choice is between two samples, not one and itself');
  switch (kind) {
    case 'triangle':
      return { orders: TRIANGLE_ORDERS, letters: null };
    case 'tetrad':
      return { orders: TETRAD_ORDERS, letters: null };
    case 'duo-trio':
      return reference === 'constant'
        ? { orders: DUO_TRIO_CONSTANT_ORDERS, letters: [first, second] }
        : { orders: DUO_TRIO_BALANCED_ORDERS, letters: null };
    case 'three-afc':
      if (strongerSampleId === first) return { orders: THREE_AFC_ORDERS, letters: [second, first] };
      if (strongerSampleId === second) return { orders: THREE_AFC_ORDERS, letters: [first, second] };
      throw new RangeError('a 3-AFC names which of its samples is the stronger');
    case 'directional-pair':
    case 'preference':
      return { orders: PAIR_ORDERS, letters: null };
  }
}
