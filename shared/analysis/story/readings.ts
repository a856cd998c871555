import type { StoryInput, StoryReading, StoryReadings, StorySign } from '../../contracts/story.ts';
import { listed, plain } from '../../ground/phrases.ts';
import { dayOf, type Axis } from './axis.ts';

const MEASURES = [
  { measure: 'ph', name: 'pH', unit: '', digits: 2, of: ({ ph }: StoryReading) => ph },
  { measure: 'gravity', name: 'specific gravity', unit: '', digits: 4, of: ({ sg }: StoryReading) => sg },
  {
    measure: 'temperature',
    name: 'temperature',
    unit: '°C',
    digits: 1,
    of: ({ temperatureC }: StoryReading) => temperatureC,
  },
] as const;

/** What instruments read, a line for each arm; measures that nobody took are left out. */
export function readingLines(input: StoryInput, axis: Axis): StoryReadings[] {
  return MEASURES.flatMap(({ measure, name, unit, digits, of }) => {
    const lines = input.arms.flatMap(({ id }) => {
      const points = input.readings
        .filter(({ armId }) => armId === id)
        .flatMap((reading) => {
          const value = of(reading);
          return value === null ? [] : [{ x: axis.at(reading.at), on: dayOf(reading.at), value }];
        })
        .sort((a, b) => a.x - b.x);
      return points.length === 0 ? [] : [{ armId: id, points }];
    });
    if (lines.length === 0) return [];
    const told = lines.map(({ armId, points }) => {
      const last = points.at(-1);
      const arm = input.arms.find(({ id }) => id === armId)?.name ?? '';
      return `${arm} ${plain(last?.value ?? 0, digits)}${unit === '' ? '' : ` ${unit}`} on ${last?.on ?? ''}`;
    });
    return [{ measure, name, unit, lines, sentence: `Last ${name} read: ${listed(told)}.` }];
  });
}

/** What was noted beside the numbers, as marks on the axis. */
export function signsOf(input: StoryInput, axis: Axis): StorySign[] {
  const noted = input.readings.flatMap(({ armId, at, looks, smell }) =>
    (
      [
        ['looks', looks],
        ['smell', smell],
      ] as const
    ).flatMap(([kind, text]) =>
      text.trim() === '' ? [] : [{ kind, x: axis.at(at), on: dayOf(at), armId, text: text.trim() }],
    ),
  );
  const deviations = input.deviations.map(({ armId, on, note }) => ({
    kind: 'deviation' as const,
    x: axis.at(on),
    on: dayOf(on),
    armId,
    text: note,
  }));
  return [...deviations, ...noted].sort((a, b) => a.x - b.x);
}

/** The last reading of an arm, in words; null without one. */
export function lastReading(input: StoryInput, armId: string): { on: string; text: string } | null {
  const own = input.readings
    .filter((reading) => reading.armId === armId)
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const last = own.at(-1);
  if (!last) return null;
  const values = MEASURES.flatMap(({ name, unit, digits, of }) => {
    const value = of(last);
    return value === null ? [] : [`${name} ${plain(value, digits)}${unit === '' ? '' : ` ${unit}`}`];
  });
  const pull = input.pulls.find(({ id }) => id === last.pullId)?.name;
  return {
    on: dayOf(last.at),
    text: `${values.length === 0 ? 'Nothing was measured' : listed(values)}${pull === undefined ? '' : ` at ${pull}`}.`,
  };
}
