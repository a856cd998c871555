const ISO =
  /^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ](\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,3})\d*)?)?\s*(Z|[+-]\d{2}:?\d{2})?)?$/;
// Day, month, year with points is written so and no other way; with strokes it is one thing here and another there.
const POINTS = /^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?:,?\s+(\d{1,2})[:.](\d{2}))?$/;

/**
 * A moment from a cell, ISO 8601 in UTC: '2031-03-04T18:00:00Z', '2031-03-04 18:00' or '4.3.2031 18:00'. Without a zone it is
 * taken `minutesEast` of UTC, without a time at noon. Null for anything else, '3/4/2031' among it, and for days there are not.
 * Source: ISO 8601; day.month.year by common practice, no source.
 * Example: `Date.parse(csvMoment('4.3.2031 19:00', 60))` is 1930413600000
 */
export function csvMoment(cell: string, minutesEast: number): string | null {
  const iso = ISO.exec(cell.trim());
  const points = iso ? null : POINTS.exec(cell.trim());
  const [year, month, date, hour, minute] = iso
    ? [iso[1], iso[2], iso[3], iso[4], iso[5]]
    : [points?.[3], points?.[2], points?.[1], points?.[4], points?.[5]];
  if (year === undefined) return null;
  const at = [year, month, date, hour ?? 12, minute ?? 0].map(Number) as [
    number,
    number,
    number,
    number,
    number,
  ];
  const seconds = Number(iso?.[6] ?? 0);
  const utc = new Date(
    Date.UTC(at[0], at[1] - 1, at[2], at[3], at[4], seconds, Number((iso?.[7] ?? '0').padEnd(3, '0'))),
  );
  const real =
    utc.getUTCMonth() === at[1] - 1 && utc.getUTCDate() === at[2] && at[3] < 24 && at[4] < 60 && seconds < 60;
  if (!real || at[0] < 1900) return null;
  return new Date(utc.getTime() - zone(iso?.[8], minutesEast) * 60_000).toISOString();
}

function zone(written: string | undefined, minutesEast: number): number {
  if (written === undefined) return minutesEast;
  if (written === 'Z') return 0;
  const figures = written.replace(':', '');
  return (figures.startsWith('-') ? -1 : 1) * (Number(figures.slice(1, 3)) * 60 + Number(figures.slice(3)));
}

/**
 * A calendar day from a cell, YYYY-MM-DD; null where it is none.
 * Example: `Date.parse(csvDay('4.3.2031'))` is 1930348800000
 */
export function csvDay(cell: string): string | null {
  return csvMoment(cell, 0)?.slice(0, 10) ?? null;
}
