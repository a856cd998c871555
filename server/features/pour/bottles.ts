import type { listDilutionSteps, listSamples } from '@oddglass/db/queries/key.ts';
import { allergen, type Allergen } from '@oddglass/shared/contracts/common.ts';
import type { SampleInput } from '@oddglass/shared/contracts/part.ts';
import { isFlight } from '@oddglass/shared/contracts/part-fit.ts';
import type { Dilution } from '@oddglass/shared/contracts/pour.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { dilutionInHand } from '@oddglass/shared/rules/dilution.ts';
import { z } from 'zod';

type Sample = Awaited<ReturnType<typeof listSamples>>[number];
type Step = Awaited<ReturnType<typeof listDilutionSteps>>[number];

/** What is poured from one bottle: an arm as it is, or with the same thing added. Duplicates come out of the same bottle. */
export interface Bottle {
  /** Its first sample in the order of the plan. */
  id: string;
  armId: string;
  arm: string;
  spike: string | null;
  allergens: Allergen[];
  allergensUnknown: boolean;
  dose: SampleInput['spikeDose'] | null;
  recipe: { how: string; caution: string } | null;
  ids: Set<string>;
}

/** The bottles of a session, by arm, with what the plan says of what is added. */
export function bottlesOf(samples: readonly Sample[], { parts }: Pick<SessionSettings, 'parts'>): Bottle[] {
  const plannedOf = ({ part, place }: Sample): SampleInput | undefined => {
    const planned = parts[part - 1];
    return planned && isFlight(planned) ? planned.samples[place] : undefined;
  };
  const bottles = Map.groupBy(samples, ({ armId, spike }) => `${armId} ${spike ?? ''}`);
  return [...bottles.values()]
    .map((same) => {
      const [first] = same as [Sample];
      const { id, armId, arm, spike, armPlace } = first;
      const planned = spike === null ? [] : same.map(plannedOf);
      const added = planned.flatMap((one) => one?.spikeAllergens ?? []);
      const allergens = [...new Set([...first.allergens, ...added])];
      const told = planned[0];
      return {
        armPlace,
        id,
        armId,
        arm,
        spike,
        allergens: z.array(allergen).parse(allergens),
        // What was planned before it was asked is as unknown as what nobody knows.
        allergensUnknown: planned.some((one) => (one?.spikeAllergens ?? null) === null),
        dose: told?.spikeDose ?? null,
        recipe: told?.spikeReference
          ? { how: told.spikeReference.how, caution: told.spikeReference.caution }
          : null,
        ids: new Set(same.map((sample) => sample.id)),
      };
    })
    .sort((a, b) => a.armPlace - b.armPlace || (a.spike ?? '').localeCompare(b.spike ?? ''))
    .map(({ armPlace: _place, ...bottle }) => bottle);
}

/** The newest measurement of a bottle as `actorId` sees it; null before there is one. */
export function dilutionOf(
  bottle: Pick<Bottle, 'id'>,
  steps: readonly Step[],
  actorId: string,
): Dilution | null {
  const inHand = dilutionInHand(steps.filter(({ sampleId }) => sampleId === bottle.id));
  if (!inHand) return null;
  const { measured, settled } = inHand;
  return {
    measurement: measured.id,
    amount: measured.amount ?? '',
    volumeMl: measured.volumeMl ?? 0,
    measuredBy: measured.byName,
    byYou: measured.by === actorId,
    measuredAt: measured.at.toISOString(),
    standing: settled && settled.kind !== 'measured' ? settled.kind : 'waiting',
    settledBy: settled?.byName ?? null,
    settledAt: settled?.at.toISOString() ?? null,
  };
}
