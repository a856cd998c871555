import type { StoryInput, StoryReading, StoryReadings, StorySign } from '../../contracts/story.ts';
import { listed } from '../../ground/phrases.ts';
import { dayOf, type Axis } from './axis.ts';

const MEASURES = [
  {
    measure: 'ph',
    name: 'pH',
    unit: '',
    tell: (value: number) => value.toFixed(2),
    of: ({ ph }: StoryReading) => ph,
  },
  {
    measure: 'gravity',
    name: 'specific gravity',
    unit: '',
    // Three decimals as the trade has it, a fourth where somebody read one.
    tell: (value: number) => value.toFixed(4).replace(/0$/, ''),
    of: ({ sg }: StoryReading) => sg,
  },
  {
    measure: 'temperature',
    name: 'temperature',
    unit: '°C',
    tell: (value: number) => value.toFixed(1),
    of: ({ temperatureC }: StoryReading) => temperatureC,
  },
] as const;

/** What instruments read, a line for each arm; measures that nobody took are left out. */
export function readingLines(input: StoryInput, axis: Axis): StoryReadings[] {
  return MEASURES.flatMap(({ measure, name, unit, tell, of }) => {
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
    const ends = lines.flatMap(({ armId, points }) => points.slice(-1).map((last) => ({ armId, ...last })));
    const [day, ...others] = new Set(ends.map(({ on }) => on));
    const told = ends.map(({ armId, value, on }) => {
      const arm = input.arms.find(({ id }) => id === armId)?.name ?? '';
      return `${arm} ${tell(value)}${unit === '' ? '' : ` ${unit}`}${others.length === 0 ? '' : ` on ${on}`}`;
    });
    const when = others.length === 0 ? `, on ${day ?? ''}` : '';
    return [{ measure, name, unit, lines, sentence: `Last ${name} read${when}: ${listed(told)}.` }];
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

/** What was read last of an arm, each measure by itself: not every reading takes all of them. */
export function lastReadings(input: StoryInput, armId: string, axis: Axis): { on: string; text: string }[] {
  const own = input.readings
    .filter((reading) => reading.armId === armId)
    .sort((a, b) => axis.at(a.at) - axis.at(b.at));
  return MEASURES.flatMap(({ name, unit, tell, of }) => {
    const last = own.findLast((reading) => of(reading) !== null);
    const value = last && of(last);
    if (!last || value === null || value === undefined) return [];
    const pull = input.pulls.find(({ id }) => id === last.pullId)?.name;
    const text = `${name} ${tell(value)}${unit === '' ? '' : ` ${unit}`}`;
    return [{ on: dayOf(last.at), text: `${text}${pull === undefined ? '' : `, pull “${pull}”`}.` }];
  });
}
