import type { Part, SampleInput } from './part.ts';
import { isFlight, type PartError } from './part-fit.ts';

/** What is said where nothing was told; a form keeps it to itself while somebody still types. */
export const UNTOLD = {
  alcohol: 'Say how much alcohol the cup holds then, that what is added holds none, or that nobody knows.',
  allergens: 'Name its allergens, or say that it holds none, or that nobody knows.',
} as const;

/** A spiked sample, with where it stands. */
interface Spiked {
  sample: SampleInput;
  part: number;
  at: (string | number)[];
}

function spikedSamples(parts: readonly Part[]): Spiked[] {
  return parts.flatMap((part, index) =>
    (isFlight(part) ? part.samples : []).flatMap((sample, place) =>
      sample.role === 'spiked' ? [{ sample, part: index + 1, at: [index, 'samples', place] }] : [],
    ),
  );
}

/**
 * What is not told of spiked samples: alcohol and allergens, of which 'none' and 'nobody knows' are answers and silence is
 * not; the dose of a chosen one; and one spiked sample told in two ways. Asked of what is sent and at sealing, never of what
 * is read, so that settings from before stay open.
 */
export function untoldSpikes(parts: readonly Part[]): PartError[] {
  const spiked = spikedSamples(parts);
  return [...spiked.flatMap(untold), ...strayFacts(parts), ...toldTwice(spiked)];
}

function untold({ sample, at }: Spiked): PartError[] {
  const { spikeAbv, spikeAllergens, spikeReference, spikeDose } = sample;
  const errors: PartError[] = [];
  const known = (spikeReference?.abv ?? null) !== null;
  if (spikeAbv === undefined && !known) {
    errors.push({
      at: [...at, 'spikeAbv'],
      message: UNTOLD.alcohol,
    });
  }
  if (spikeAbv !== undefined && known) {
    errors.push({
      at: [...at, 'spikeAbv'],
      message: 'The reference cup tells its alcohol: enter another one by hand.',
    });
  }
  if (spikeAllergens === undefined) {
    errors.push({
      at: [...at, 'spikeAllergens'],
      message: UNTOLD.allergens,
    });
  }
  if (spikeReference && !spikeDose) {
    errors.push({ at: [...at, 'spikeDose'], message: 'A reference cup comes with its dose.' });
  }
  return errors;
}

function strayFacts(parts: readonly Part[]): PartError[] {
  return parts.flatMap((part, index) =>
    (isFlight(part) ? part.samples : []).flatMap((sample, place) => {
      const facts = [sample.spikeAbv, sample.spikeAllergens, sample.spikeDose, sample.spikeReference];
      if (sample.role === 'spiked' || facts.every((fact) => fact === undefined)) return [];
      const message = 'Only a spiked sample has something added.';
      return [{ at: [index, 'samples', place, 'role'], message }];
    }),
  );
}

/** One arm with one thing added is one bottle, in whatever part it is poured: its facts have to be the same. */
function toldTwice(spiked: readonly Spiked[]): PartError[] {
  const known = new Map<string, { facts: string; part: number }>();
  return spiked.flatMap(({ sample, part, at }) => {
    const { armId, spike, spikeAbv, spikeAllergens, spikeDose, spikeReference } = sample;
    const bottle = `${armId} ${spike ?? ''}`;
    const allergens = spikeAllergens ? [...spikeAllergens].sort() : spikeAllergens;
    const dose = spikeDose && [spikeDose.amount, spikeDose.unit, spikeDose.perMl];
    const from = spikeReference && [spikeReference.wordId, spikeReference.own];
    const facts = JSON.stringify([spikeAbv, allergens, dose, from].map((fact) => fact ?? String(fact)));
    const before = known.get(bottle);
    if (!before) known.set(bottle, { facts, part });
    if (!before || before.facts === facts) return [];
    const message = `Part ${before.part} has this spiked sample with another dose, alcohol or allergens: it is one bottle.`;
    return [{ at: [...at, 'spike'], message }];
  });
}
