import type { ServedTray, PartInput } from '@oddglass/shared/analysis/common/served.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { FlightPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import type { SampleFacts } from '@oddglass/shared/contracts/result-common.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';

export const ARM_NAMES = [
  'Cool',
  'Warm',
  'Wild',
  'Dry',
  'Oak',
  'Lees',
  'Peel',
  'Salt',
  'Rye',
  'Malt',
  'Hop',
  'Husk',
];
export const armId = (index: number): string =>
  `00000000-0000-4000-8000-${String(index + 1).padStart(12, '0')}`;

/** What a flight asks, as a session's form would send it: one sample per arm, and what a test adds. */
export function flight(arms: number, further: SampleInput[] = []) {
  const samples: SampleInput[] = Array.from({ length: arms }, (_, index) => ({
    armId: armId(index),
    role: 'sample',
    spike: null,
  }));
  return {
    cups: 'own' as const,
    samples: [...samples, ...further],
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
  };
}

function factsOf(part: FlightPart): SampleFacts[] {
  return part.samples.map(({ armId: arm, role, spike }, index) => {
    const name = ARM_NAMES[Number(arm.slice(-12)) - 1] ?? arm;
    const note = {
      sample: '',
      duplicate: ' (hidden duplicate)',
      spiked: ` + ${spike}`,
      'warm-up': ' (warm-up)',
    };
    return { key: `s${index + 1}`, armId: arm, name: name + note[role], role, spike, control: false };
  });
}

/**
 * One tray of one person. `served` holds places in `part.samples`, left to right; code 101 stands on the first of them.
 * Cup by cup parts get one answer per cup, ranking one answer in all.
 */
export function flightTray(
  part: FlightPart,
  assessor: string,
  served: readonly number[],
  answers: readonly (Answer | null)[],
  replicate = 1,
  comment = '',
): ServedTray {
  const cups = served.map((place, at) => ({
    code: String(101 + at),
    position: at + 1,
    mark: null,
    sample: `s${place + 1}`,
    armId: part.samples[place]?.armId ?? '',
  }));
  const codes = cups.map(({ code }) => code);
  const asked =
    answers.length === cups.length && part.kind !== 'ranking' ? codes.map((code) => [code]) : [codes];
  return {
    assessor,
    replicate,
    cups,
    sheets: asked.map((own, at) => ({
      sheet: at + 1,
      codes: own,
      attributeIds: [],
      answer: answers[at] ?? null,
      comment,
    })),
  };
}

export function flightInput<P extends FlightPart>(
  part: P,
  trays: ServedTray[],
  change: Partial<PartInput<P>> = {},
): PartInput<P> {
  const arms = [...new Set(part.samples.map(({ armId: arm }) => arm))].map((id) => ({
    id,
    name: ARM_NAMES[Number(id.slice(-12)) - 1] ?? id,
    differs: 'invented',
  }));
  const assessors = Math.max(1, new Set(trays.map(({ assessor }) => assessor)).size);
  return {
    session: {
      title: 'An invented tasting',
      trialTitle: 'An invented trial',
      question: 'Does it matter?',
      factor: 'temperature',
      demo: false,
      arms,
      blinding: 'double',
      smellOnly: false,
      stopped: false,
      fingerprint: 'AAAA·BBBB·CCCC',
      root: 'a'.repeat(64),
      revealedAt: '2031-03-04T20:00:00.000Z',
      assessors,
      cupMl: 30,
      restSeconds: 60,
    },
    settings: {
      title: 'An invented tasting',
      assessors,
      spareSeats: 0,
      cupMl: 30,
      restSeconds: 60,
      masking: false,
      servingNote: '',
      parts: [part],
    },
    number: 1,
    part,
    samples: factsOf(part),
    trays,
    deviations: [],
    words: new Map(),
    kinds: [part.kind],
    random: (purpose) => {
      const seed = new Uint8Array(32);
      [...purpose].forEach(
        (letter, at) => (seed[at % 32] = (seed[at % 32] ?? 0) * 31 + letter.charCodeAt(0)),
      );
      return seededRandom(seed);
    },
    ...change,
  };
}
