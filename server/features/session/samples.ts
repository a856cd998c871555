import type { Arm } from '@oddglass/db/queries/trial.ts';
import type { FlightPart, Part, SampleRole } from '@oddglass/shared/contracts/part.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { PartDesign } from '@oddglass/shared/design/plan-draw.ts';
import { controlArmOf } from '@oddglass/shared/kinds/kinds.ts';
import { borrowsCups, isChoice } from '@oddglass/shared/contracts/part-fit.ts';
import { hasWarmUpTray, replicatesOf } from '@oddglass/shared/rules/parts.ts';

export interface PlannedSample {
  armId: string;
  armName: string;
  /** The part it is poured for, from 1, and its place among the part's samples, from 0. */
  part: number;
  place: number;
  role: SampleRole;
  spike: string | null;
  control: 'marked' | 'hidden' | null;
}

/** Everything the parts pour, in the order in which the plan names it; parts on the cups before them add nothing. */
export function samplesOf(
  settings: SessionSettings,
  arms: readonly Pick<Arm, 'id' | 'name'>[],
): PlannedSample[] {
  const names = new Map(arms.map(({ id, name }) => [id, name]));
  return settings.parts.flatMap((part, index) =>
    borrowsCups(part)
      ? []
      : poursOf(part).map((pour, place) => ({
          ...pour,
          armName: names.get(pour.armId) ?? '',
          part: index + 1,
          place,
        })),
  );
}

function poursOf(part: Part): Pick<PlannedSample, 'armId' | 'role' | 'spike' | 'control'>[] {
  const plain = { role: 'sample' as const, spike: null, control: null };
  if (isChoice(part)) return part.armIds.map((armId) => ({ ...plain, armId }));
  const samples = part.samples.map(({ armId, role, spike }) => ({ armId, role, spike, control: null }));
  const armId = controlArmOf(part);
  if (armId === null) return samples;
  return [...samples, { ...plain, armId, control: 'hidden' }, { ...plain, armId, control: 'marked' }];
}

type Sample = PlannedSample & { id: string };

/** The parts as the drawing of the plan needs them: samples by id only. */
export function designsOf(settings: SessionSettings, samples: readonly Sample[]): PartDesign[] {
  return settings.parts.flatMap((part, index) => {
    if (borrowsCups(part)) return [];
    const number = index + 1;
    return [
      designOf(
        part,
        number,
        samples.filter((sample) => sample.part === number),
      ),
    ];
  });
}

function designOf(part: Part, number: number, samples: readonly Sample[]): PartDesign {
  if (!isChoice(part)) return flightDesign(part, number, samples);
  const [first, second] = samples;
  if (!first || !second) throw new Error('a test between two arms needs two samples');
  const sampleIds: [string, string] = [first.id, second.id];
  const idOf = (armId: string): string => (armId === first.armId ? first.id : second.id);
  const stronger = 'strongerArmId' in part ? part.strongerArmId : null;
  return {
    kind: part.kind,
    number,
    replicates: replicatesOf(part),
    warmUpTray: hasWarmUpTray(part),
    sampleIds,
    ...(stronger !== null && { strongerSampleId: idOf(stronger) }),
    ...('reference' in part && { reference: part.reference }),
  };
}

function flightDesign(part: FlightPart, number: number, samples: readonly Sample[]): PartDesign {
  const marked = samples.find(({ control }) => control === 'marked');
  const hidden = samples.find(({ control }) => control === 'hidden');
  return {
    kind: part.kind,
    number,
    replicates: part.replicates,
    cupsEach: part.cupsEach,
    samples: samples
      .filter(({ control }) => control !== 'marked')
      // Cups out of one bottle are kept apart.
      .map(({ id, role, armId, spike }) => ({ id, role, sameAs: `${armId} ${spike ?? ''}` })),
    ...(marked && hidden && { control: { sampleId: marked.id, hiddenSampleId: hidden.id } }),
  };
}

/** What the seal says of the plan: enough to hold the analysis to it, with samples by id and no arm by name. */
export function sealedSettings(
  settings: SessionSettings,
  samples: readonly Sample[],
  vocabulary: { version: number; edition: number },
): Record<string, unknown> {
  const { assessors, spareSeats, cupMl, restSeconds } = settings;
  return {
    assessors,
    spareSeats,
    cupMl,
    restSeconds,
    vocabularyVersion: vocabulary.version,
    vocabularyEdition: vocabulary.edition,
    parts: settings.parts.map((part, index) => sealedPart(part, index + 1, samples)),
    // Left out where nothing is said of it, so that other seals keep their form.
    ...(settings.replicates && { replicates: settings.replicates }),
    ...(settings.seatsAtOnce !== undefined && { seatsAtOnce: settings.seatsAtOnce }),
    ...(settings.paperEntry && { paperEntry: settings.paperEntry }),
    // Their names may be those of places where people live: sizes alone are what the drawing is held to.
    ...(settings.sites && {
      sites: settings.sites.map((site) => ({ assessors: site.assessors, spareSeats: site.spareSeats })),
    }),
  };
}

function sealedPart(part: Part, number: number, samples: readonly Sample[]): Record<string, unknown> {
  const own = samples.filter((sample) => sample.part === number);
  // Sorted, so that their order says nothing about arms.
  const ids = own.map(({ id }) => id).sort();
  const idOf = (armId: string | null): string | null =>
    own.find((sample) => sample.armId === armId)?.id ?? null;
  if (isChoice(part)) {
    const { armIds: _arms, ...rest } = part;
    if (!('strongerArmId' in rest)) return { ...rest, samples: ids };
    const { strongerArmId, ...open } = rest;
    return { ...open, samples: ids, strongerSample: idOf(strongerArmId) };
  }
  const { samples: _samples, ...rest } = part;
  if (!('controlArmId' in rest)) return { ...rest, samples: ids };
  const { controlArmId: _control, ...open } = rest;
  const marked = own.find(({ control }) => control === 'marked');
  return { ...open, samples: ids, control: marked?.id ?? null };
}
