import type { Story, StoryInput } from '../../contracts/story.ts';

const DAY_MS = 86_400_000;

/** The one axis of time of a story, and where a moment or day stands on it. */
export interface Axis {
  told: Story['axis'];
  /** Days since its zero; a day without a time stands at noon, in the middle of what it may mean. */
  at(moment: string): number;
}

const isDay = (moment: string): boolean => moment.length === 10;
const ms = (moment: string): number => Date.parse(isDay(moment) ? `${moment}T12:00:00Z` : moment);

/** The day of a moment, in UTC. */
export const dayOf = (moment: string): string => new Date(ms(moment)).toISOString().slice(0, 10);

/**
 * Days since the first arm was pitched, where that was noted, else since the first date of the story. What lies before
 * pitching stands left of 0. It reaches over what happened: pulls planned ahead would press a week into a line, and stand on it
 * only while there is nothing else.
 */
export function axisOf({ arms, pulls, readings, sessions, deviations }: StoryInput): Axis {
  const happened = [
    ...readings.map(({ at }) => at),
    ...sessions.map(({ on }) => on),
    ...deviations.map(({ on }) => on),
  ];
  const moments = (happened.length > 0 ? happened : pulls.map(({ at }) => at)).sort((a, b) => ms(a) - ms(b));
  const pitched = arms.flatMap(({ pitchedOn }) => pitchedOn ?? []).sort();
  const [first] = moments;
  const zero = pitched[0] ?? (first === undefined ? null : dayOf(first));
  const from = pitched.length > 0 ? ('pitching' as const) : ('date' as const);
  const start = zero === null ? 0 : ms(zero);
  const at = (moment: string): number => Math.round(((ms(moment) - start) / DAY_MS) * 1000) / 1000;
  const places = moments.map(at);
  return {
    told: {
      from,
      zero,
      label:
        from === 'pitching'
          ? new Set(pitched).size > 1
            ? 'days since the first arm was pitched'
            : 'days since pitching'
          : 'days since the first note',
      first: Math.min(0, ...places),
      last: Math.max(0, ...places),
    },
    at,
  };
}
