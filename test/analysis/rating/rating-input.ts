import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import type { PartInput, ServedTray } from '@oddglass/shared/analysis/common/served.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { ControlPart, LikingPart, RatingPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { armId, flight, flightInput, flightTray } from '../common/flight-input.ts';

export type MarkPart = RatingPart | ControlPart | LikingPart;

/** A rating of line scales, one attribute for each name. */
export function ratingPart(arms: number, names: readonly string[], further: SampleInput[] = []): RatingPart {
  return {
    kind: 'rating',
    ...flight(arms, further),
    attributes: names.map((name) => ({
      id: name.replaceAll(' ', '-'),
      name,
      low: 'none',
      high: 'very strong',
    })),
    scale: 'line',
    by: 'sample',
    returning: true,
  };
}

/** One tray marked cup by cup: for each cup, the marks of all attributes; null instead of them for a sheet left unanswered. */
export function ratedTray(
  part: RatingPart,
  assessor: string,
  served: readonly number[],
  marks: readonly (readonly (number | null)[] | null)[],
  replicate = 1,
): ServedTray {
  const attributeIds = part.attributes.map(({ id }) => id);
  const answers = marks.map((own, at): Answer | null =>
    own === null
      ? null
      : {
          kind: 'rating',
          marks: attributeIds.map((attributeId, index) => ({
            code: String(101 + at),
            attributeId,
            value: own[index] ?? null,
          })),
        },
  );
  const tray = flightTray(part, assessor, served, answers, replicate);
  return { ...tray, sheets: tray.sheets.map((sheet) => ({ ...sheet, attributeIds })) };
}

export function controlPart(arms: number): ControlPart {
  return {
    kind: 'control',
    ...flight(arms),
    controlArmId: armId(arms),
    degrees: ['none', 'very slight', 'slight', 'moderate', 'large', 'very large'],
  };
}

/** The hidden cup of the control stands first among the samples, as 's0', and first on each tray beside the marked one. */
export function controlInput(
  part: ControlPart,
  rows: readonly (readonly (number | null)[])[],
): PartInput<ControlPart> {
  const armName = 'Control';
  const trays = rows.map(([hidden = null, ...degrees], person): ServedTray => {
    const tray = flightTray(
      part,
      `p${person}`,
      degrees.map((_degree, place) => place),
      degrees.map((degree) => ({ kind: 'control', degree })),
    );
    const control = { sample: 's0', armId: part.controlArmId };
    return {
      ...tray,
      cups: [
        { code: '901', position: 0, mark: 'control', ...control },
        { code: '902', position: tray.cups.length + 1, mark: null, ...control },
        ...tray.cups,
      ],
      sheets: [
        ...tray.sheets,
        {
          sheet: 99,
          codes: ['902'],
          attributeIds: [],
          answer: { kind: 'control', degree: hidden },
          comment: '',
        },
      ],
    };
  });
  const input = flightInput(part, trays);
  return {
    ...input,
    samples: [
      {
        key: 's0',
        armId: part.controlArmId,
        name: `${armName} (hidden control)`,
        role: 'sample',
        spike: null,
        control: true,
      },
      ...input.samples,
    ],
  };
}

/** Numbers that come again: uniform from a linear congruential generator, normal by Box and Muller. */
export function noise(seed: number): { uniform: () => number; normal: () => number } {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  const normal = (): number => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

/** Twelve people, three samples: sour and smoky differ, sweet does not; one person hears nothing, one marks smoky upside down. */
export function knownPanel(seed: number) {
  const part = ratingPart(
    3,
    ['sour', 'smoky', 'sweet'],
    [
      { armId: armId(0), role: 'duplicate', spike: null },
      { armId: armId(2), role: 'warm-up', spike: null },
    ],
  );
  const truth = [
    [30, 40, 45],
    [45, 40, 45],
    [60, 65, 45],
    [30, 40, 45],
    [95, 95, 95],
  ];
  const { uniform, normal } = noise(seed);
  const clamp = (value: number): number => Math.min(100, Math.max(0, value));
  const trays = Array.from({ length: 12 }, (_person, person) => {
    const shift = 8 * normal();
    const marks = truth.map((own) =>
      own.map((value, attribute) => {
        if (person === 10) return 100 * uniform();
        const meant = person === 11 && attribute === 1 ? 100 - value : value;
        return clamp(meant + shift + 7 * normal());
      }),
    );
    return ratedTray(part, `p${person}`, [0, 1, 2, 3, 4], marks);
  });
  return { part, trays, result: analyseRating(flightInput(part, trays)) };
}
