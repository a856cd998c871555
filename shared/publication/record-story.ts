import type { Publication } from '../contracts/publication.ts';
import type { PublishedReading } from '../contracts/published-record.ts';
import { listed } from '../ground/phrases.ts';

const DAY_MS = 86_400_000;

const MEASURES = [
  { key: 'ph', name: 'pH', unit: '', places: 2 },
  { key: 'gravity', name: 'Specific gravity', unit: '', places: 4 },
  { key: 'temperatureC', name: 'Temperature', unit: '°C', places: 1 },
] as const;

/** What instruments read of the arms over one axis of days, and where on it the tastings may stand. */
export interface RecordStory {
  axis: { label: string; first: number; last: number };
  /** Measures that were taken; `place` is that of the arm in the publication. */
  measures: {
    key: (typeof MEASURES)[number]['key'];
    name: string;
    unit: string;
    places: number;
    lines: { arm: string; place: number; points: { day: number; value: number }[] }[];
    sentence: string;
  }[];
  /** In order of the sessions; those of one month share a span. */
  tastings: { sessions: number[]; heldIn: string; from: number; to: number }[];
}

/**
 * The story of a publication's readings. Made of what the publication tells and of nothing else: the span of a tasting is the
 * month it is told by, as wide as two months leave it. Null where nothing was read.
 */
export function recordStory({ record, arms, sessions, publishedOn }: Publication): RecordStory | null {
  if (!record || record.readings.length === 0) return null;
  const measures = MEASURES.flatMap(({ key, name, unit, places }) => {
    const lines = arms.flatMap(({ name: arm }, place) => {
      const points = record.readings.filter((one) => one.arm === arm).flatMap((one) => pointOf(one, key));
      return points.length === 0 ? [] : [{ arm, place, points }];
    });
    if (lines.length === 0) return [];
    const last = lines.map(({ arm, points }) => {
      const end = points.at(-1);
      const value = `${(end?.value ?? 0).toFixed(places)}${unit === '' ? '' : ` ${unit}`}`;
      return `${arm} ${value} on day ${end?.day ?? 0}`;
    });
    return [{ key, name, unit, places, lines, sentence: `Last read: ${listed(last)}.` }];
  });
  const spans = new Map<string, RecordStory['tastings'][number]>();
  for (const { session, months } of record.tastings) {
    const heldIn = sessions.find(({ number }) => number === session)?.heldIn;
    if (heldIn === undefined) continue;
    const span = spans.get(heldIn) ?? { sessions: [], heldIn, ...spanOf(heldIn, months, publishedOn) };
    span.sessions.push(session);
    spans.set(heldIn, span);
  }
  const tastings = [...spans.values()];
  const days = record.readings.map(({ day }) => day);
  return {
    axis: {
      label: record.since === 'pitching' ? 'days since pitching' : 'days since the first note',
      first: Math.min(0, ...days),
      last: Math.max(1, ...days, ...tastings.map(({ to }) => to)),
    },
    measures,
    tastings,
  };
}

function pointOf(
  reading: PublishedReading,
  key: (typeof MEASURES)[number]['key'],
): { day: number; value: number }[] {
  const value = reading[key];
  return value === null ? [] : [{ day: reading.day, value }];
}

/**
 * First and last day, since a day 0 somewhere in its month, on which something of a month so many months later may have been; none
 * before day 0, none after the day of publishing.
 */
function spanOf(heldIn: string, months: number, publishedOn: string): { from: number; to: number } {
  const [year = 0, month = 1] = heldIn.split('-').map(Number);
  const startOf = (at: number): number => Date.UTC(year, month - 1 + at, 1) / DAY_MS;
  const end = Math.min(startOf(1) - 1, Date.parse(publishedOn) / DAY_MS);
  const zero = { first: startOf(-months), last: startOf(1 - months) - 1 };
  return { from: Math.max(0, startOf(0) - zero.last), to: Math.max(0, end - zero.first) };
}
