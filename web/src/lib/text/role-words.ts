import type { SampleRole } from '@oddglass/shared/contracts/part.ts';

/** What a cup is there for, as a host chooses it. */
export const ROLE_NAMES: Readonly<Record<SampleRole, string>> = {
  sample: 'sample',
  duplicate: 'hidden duplicate',
  spiked: 'spiked reference',
  'warm-up': 'warm-up',
};
