import type { Part } from '../contracts/part.ts';
import { worstCaseCupsOf, type FlightPartDesign, type PartDesign } from '../design/plan-draw.ts';
import { controlArmOf } from '../kinds/kinds.ts';
import { borrowsCups, isChoice } from '../contracts/part-fit.ts';
import { hasWarmUpTray, replicatesOf } from '../rules/parts.ts';
import { groupsOf } from '../rules/sites.ts';
import type { PlannedArm, PlannedLiquid, PlannedSettings } from './plan-reading.ts';

/** A part as it would be drawn, with the arm that each sample is poured from. */
export interface DraftDesign {
  design: PartDesign;
  armOf: ReadonlyMap<string, string>;
}

/** Liquid of one arm over all parts: most cups that the seats can need; parts on cups before them need none. */
export function liquidOf(settings: PlannedSettings, arm: PlannedArm): PlannedLiquid {
  const { parts, cupMl, sites } = settings;
  // Each place is dealt, and has its bottles, by itself.
  const most = (seats: number) => mostCups(parts, arm.id, seats);
  const expected = groupsOf(settings, { spare: false }).map(most);
  const withSpare = groupsOf(settings, { spare: true }).map(most);
  const cups = sumOf(expected);
  const needMl = cups * cupMl;
  return {
    armId: arm.id,
    name: arm.name,
    cups,
    needMl,
    spareMl: (sumOf(withSpare) - cups) * cupMl,
    leftMl: arm.volumeMl,
    enough: needMl <= arm.volumeMl,
    ...(sites && {
      sites: sites.map(({ name }, at) => {
        const here = expected[at] ?? 0;
        return { name, cups: here, needMl: here * cupMl, spareMl: ((withSpare[at] ?? 0) - here) * cupMl };
      }),
    }),
  };
}

const sumOf = (counts: readonly number[]): number => counts.reduce((total, count) => total + count, 0);

/** Most cups of an arm that the seats can need over these parts. */
export function mostCups(parts: readonly Part[], armId: string, seats: number): number {
  let cups = 0;
  for (const [index, part] of parts.entries()) {
    if (borrowsCups(part)) continue;
    const { design, armOf } = draftDesign(part, index + 1);
    for (const [sample, count] of worstCaseCupsOf(design, seats)) {
      if (armOf.get(sample) === armId) cups += count;
    }
  }
  return cups;
}

const HIDDEN = 'hidden control';
const MARKED = 'marked control';

/** The design of a part with cups of its own, before its samples have ids: they are named by their place. */
export function draftDesign(part: Part, number: number): DraftDesign {
  if (isChoice(part)) {
    const [first = '', second = ''] = part.armIds;
    const stronger = 'strongerArmId' in part ? { strongerSampleId: part.strongerArmId } : {};
    const reference = 'reference' in part ? { reference: part.reference } : {};
    return {
      design: {
        kind: part.kind,
        number,
        replicates: replicatesOf(part),
        warmUpTray: hasWarmUpTray(part),
        sampleIds: [first, second],
        ...stronger,
        ...reference,
      },
      armOf: new Map(part.armIds.map((id) => [id, id])),
    };
  }
  const { kind, replicates, cupsEach } = part;
  const named = part.samples.map(({ armId, role, spike }, place) => ({
    id: `sample ${place + 1}`,
    role,
    armId,
    sameAs: `${armId} ${spike ?? ''}`,
  }));
  const armOf = new Map(named.map(({ id, armId }) => [id, armId]));
  const design: FlightPartDesign = {
    kind,
    number,
    replicates,
    cupsEach,
    samples: named.map(({ id, role, sameAs }) => ({ id, role, sameAs })),
  };
  const control = controlArmOf(part);
  if (control !== null) {
    design.control = { sampleId: MARKED, hiddenSampleId: HIDDEN };
    armOf.set(MARKED, control).set(HIDDEN, control);
  }
  return { design, armOf };
}
