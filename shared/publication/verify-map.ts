import { numberOf, type MapOf, type MapPoint, type PartOf } from './verify-format.ts';
import { whole, type Cells } from './verify-report.ts';

// The map of a description (verify.ts): a correspondence analysis has sums that any table keeps. Where all of its words are
// told, masses and inertias are worked out from their counts; where points lie, up to these sums, needs the analysis itself.

export function checkMap(map: MapOf, part: PartOf, cells: Cells): void {
  const { axes, totalInertia, samples, words } = map;
  const total = numberOf(totalInertia);
  const level = part.level;
  cells.is('level of the ellipses', map['level'], level);
  cells.count('random panels of the ellipses', map['resamples']);
  cells.is('mass of all samples', whole(samples.map(({ mass }) => mass)), samples.length === 0 ? 0 : 1);
  const spread = whole(samples.map(({ inertia }) => inertia));
  if (spread !== null && total !== null && samples.length > 0)
    cells.is('inertia of all samples', spread, total);
  for (const { inertia, share } of axes)
    if (inertia !== null && total) cells.is('share of an axis', share, Math.min(1, inertia / total));
  const open = whole(words.map(({ mass }) => mass));
  const every = open !== null && Math.abs(open - 1) < 1e-9;
  checkPoints(samples, 'sample', map, true, cells);
  checkPoints(words, 'word', map, every, cells);
  if (words.length === 0) return;
  const counts = words.map(({ key }) => part.words?.find(({ id }) => id === key));
  const size = counts[0] && words[0]?.mass ? numberOf(counts[0].checked ?? null) : null;
  const all = size === null ? null : size / Number(words[0]?.mass);
  if (all === null) return;
  words.forEach(({ name, mass }, at) => {
    const checked = numberOf(counts[at]?.checked ?? null);
    if (checked !== null) cells.is(`mass of ‘${name}’`, mass, checked / all);
    const threshold = numberOf(map['threshold']);
    if (checked !== null && threshold !== null && checked < threshold)
      cells.fault(`‘${name}’ was checked ${checked} times, and stands on a map from ${threshold} on`);
  });
  if (every) checkTable(map, part, cells);
}

/** Principal coordinates: their mean is 0 and their squares are the inertia of the axis. */
function checkPoints(
  points: readonly MapPoint[],
  what: string,
  { axes, ...map }: MapOf,
  every: boolean,
  cells: Cells,
): void {
  const masses = points.map(({ mass }) => mass);
  for (const { name, mass, inertia, quality, coordinates } of points) {
    cells.within(`mass of ${what} ${name}`, mass, 0, 1);
    cells.within(`quality of ${what} ${name}`, quality, 0, 1);
    if (mass === null || inertia === null || inertia === 0) continue;
    const drawn = map['drawn'] === 'plane' ? 2 : map['drawn'] === 'line' ? 1 : 0;
    const seen = coordinates.slice(0, drawn).reduce((sum, one) => sum + mass * one ** 2, 0) / inertia;
    if (drawn > 0) cells.is(`quality of ${what} ${name}`, quality, Math.min(1, seen));
    const kept = coordinates.reduce((sum, one) => sum + mass * one ** 2, 0);
    if (kept > inertia * (1 + 1e-6) + 1e-9)
      cells.fault(`${what} ${name} lies further out than its inertia ${inertia}`);
  }
  if (!every || masses.includes(null)) return;
  axes.forEach(({ inertia }, axis) => {
    if (!points.every(({ coordinates }) => coordinates.length > axis)) return;
    const at = (power: number): number =>
      points.reduce(
        (sum, { mass, coordinates }) => sum + Number(mass) * Number(coordinates[axis]) ** power,
        0,
      );
    if (Math.abs(at(1)) > 1e-7)
      cells.fault(`${what}s of axis ${axis + 1} have their mean at ${at(1)}, and should at 0`);
    cells.is(`inertia of axis ${axis + 1}, by ${what}s`, inertia, at(2));
  });
}

/** Masses and inertias from the counts of words by sample. */
function checkTable(map: MapOf, part: PartOf, cells: Cells): void {
  const keys = map.samples.map(({ key }) => key);
  const table = keys.map((key) =>
    map.words.map((word) => {
      const told = part.words?.find(({ id }) => id === word.key)?.shares.find(({ sample }) => sample === key);
      return numberOf(told?.checked);
    }),
  );
  const counts = table.map((row) => row.map(Number));
  const all = counts.flat().reduce((a, b) => a + b, 0);
  if (table.flat().includes(null) || all === 0) return;
  const rows = counts.map((row) => row.reduce((a, b) => a + b, 0) / all);
  const columns = map.words.map((_, j) => counts.reduce((sum, row) => sum + Number(row[j]), 0) / all);
  const cell = (i: number, j: number): number => {
    const expected = Number(rows[i]) * Number(columns[j]);
    return expected === 0 ? 0 : (Number(counts[i]?.[j]) / all - expected) ** 2 / expected;
  };
  map.samples.forEach(({ name, mass, inertia }, i) => {
    cells.is(`mass of sample ${name}`, mass, rows[i]);
    cells.is(
      `inertia of sample ${name}`,
      inertia,
      columns.reduce((sum, _, j) => sum + cell(i, j), 0),
    );
  });
  map.words.forEach(({ name, inertia }, j) => {
    cells.is(
      `inertia of word ${name}`,
      inertia,
      rows.reduce((sum, _, i) => sum + cell(i, j), 0),
    );
  });
}
