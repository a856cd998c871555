import type { DescriptionAnswer } from '@oddglass/shared/contracts/ballot.ts';
import type { DescriptionPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { flight, flightTray } from '../common/flight-input.ts';

export const WORDS = new Map(
  ['smoky', 'sour', 'honey', 'apple', 'bread', 'clove'].map((id) => [id, { word: id, family: 'invented' }]),
);

export function part(
  arms: number,
  change: Partial<DescriptionPart> = {},
  further: SampleInput[] = [],
): DescriptionPart {
  return {
    kind: 'description',
    ...flight(arms, further),
    words: ['smoky', 'sour', 'honey'],
    intensity: false,
    ...change,
  };
}

export function says(
  ids: readonly string[],
  ownWords: string[] = [],
  intensity: 1 | 2 | 3 | null = null,
): DescriptionAnswer {
  return {
    kind: 'description',
    words: ids.map((id) => ({ id, intensity })),
    ownWords,
    none: ids.length + ownWords.length === 0,
  };
}

/** Everybody tastes every sample in the order named; rows hold the words of each cup. */
export function panel(asked: DescriptionPart, rows: readonly (readonly (readonly string[] | null)[])[]) {
  const places = asked.samples.map((_unused, place) => place);
  return rows.map((cups, person) =>
    flightTray(
      asked,
      `person ${String(person).padStart(3, '0')}`,
      places,
      cups.map((ids) => ids && says(ids)),
    ),
  );
}
