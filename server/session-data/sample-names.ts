import type { SampleRole } from '@oddglass/shared/contracts/part.ts';
import type { SampleFacts } from '@oddglass/shared/contracts/result-common.ts';

interface Sample {
  id: string;
  part: number;
  armId: string;
  role: SampleRole;
  spike: string | null;
  control: 'marked' | 'hidden' | null;
}

/** Samples under the names a result calls them by. Keys run through the session in the order of the plan. */
export function namedSamples(
  samples: readonly (Sample & { arm: string })[],
): (SampleFacts & { id: string; part: number })[] {
  return samples.map((sample, index) => ({
    id: sample.id,
    part: sample.part,
    key: `s${index + 1}`,
    armId: sample.armId,
    name: nameOf(sample, samples),
    role: sample.role,
    spike: sample.spike,
    control: sample.control === 'hidden',
  }));
}

function nameOf(sample: Sample & { arm: string }, all: readonly Sample[]): string {
  const { arm, role, spike, control } = sample;
  if (control !== null) return `${arm} (${control} control)`;
  if (role === 'spiked') return `${arm} + ${spike ?? ''}`;
  if (role === 'warm-up') return `${arm} (warm-up)`;
  if (role === 'sample') return arm;
  const duplicates = all.filter(
    (other) => other.part === sample.part && other.role === 'duplicate' && other.armId === sample.armId,
  );
  const number = duplicates.length > 1 ? ` ${duplicates.findIndex(({ id }) => id === sample.id) + 1}` : '';
  return `${arm} (hidden duplicate${number})`;
}
