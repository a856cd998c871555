import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { RecordStory } from '@oddglass/shared/publication/record-story.ts';
import type { TimeSeries } from '#lib/plot/time-plot.ts';
import { listed } from '@oddglass/shared/ground/phrases.ts';
import { monthWords } from './facts.ts';

type Measure = RecordStory['measures'][number];

/** A measure as its plot draws it: a series for each arm that was read. */
export const seriesOf = ({ lines }: Measure): TimeSeries[] =>
  lines.map(({ arm, place, points }) => ({
    name: arm,
    place,
    points: points.map(({ day, value }) => ({ x: day, value, lower: null, upper: null })),
  }));

/** 'Temperature, °C'. */
export const headingOf = ({ name, unit }: Measure): string => (unit === '' ? name : `${name}, ${unit}`);

/** A plot in words: every reading. */
export function measureInWords(measure: Measure, label: string): string {
  const lines = measure.lines.map(
    ({ arm, points }) =>
      `${arm} ${points.map(({ day, value }) => `${value.toFixed(measure.places)} at ${day}`).join(', ')}`,
  );
  return `${headingOf(measure)} over ${label}: ${lines.join('; ')}.`;
}

/** 'Session 2' or 'Sessions 1 and 2'. */
export const sessionsWords = (numbers: readonly number[]): string =>
  `Session${numbers.length === 1 ? '' : 's'} ${listed(numbers)}`;

/** What is told of when it was tasted: the month, and between which days of the axis that lies. */
export const spanWords = ({ heldIn, from, to }: RecordStory['tastings'][number]): string =>
  `${monthWords(heldIn)}, between day ${from} and day ${to}`;

/** The findings of a session as this publication tells them, by its number. */
export function headlinesOf({ sessions }: Publication, number: number): string[] {
  const session = sessions.find((one) => one.number === number);
  return [
    ...(session?.parts ?? []).map(({ finding }) => finding.headline),
    ...(session?.withheld ?? []).map(({ headline }) => headline),
  ];
}
