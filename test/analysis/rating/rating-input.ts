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
