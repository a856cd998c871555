import { fitted, textWidth } from './sample-marks.ts';

/** What is drawn over time for one thing: an arm, or a test. */
export interface TimeSeries {
  name: string;
  /** Its mark, hue and dash: the same on every plot of a page. */
  place: number;
  points: readonly {
    x: number;
    value: number;
    lower: number | null;
    upper: number | null;
    /** The interval has no upper limit. */
    open?: boolean;
  }[];
}

export interface TimePlotInput {
  series: readonly TimeSeries[];
  /** Ends of the axis of time, shared by all plots of a page. */
  first: number;
  last: number;
  /** Ends of the axis of values; null: from what is drawn. */
  lowest: number | null;
  highest: number | null;
  /** Days at which something was noted. */
  signs: readonly number[];
  width: number;
}

export interface TimePlotLayout {
  width: number;
  height: number;
  left: number;
  right: number;
  top: number;
  bottom: number;
  days: { x: number; label: string }[];
  values: { y: number; label: string }[];
  signs: { x: number }[];
  series: {
    place: number;
    dash: string;
    path: string;
    points: { x: number; y: number; from: number | null; to: number | null; open: boolean }[];
    label: { x: number; y: number; text: string } | null;
  }[];
}

// Lines are told apart by dash as well as by mark and hue.
const DASHES = ['', '8 4', '2 4', '10 4 2 4', '14 5', '5 5', '1 6', '12 3 3 3'] as const;
const HEIGHT = 220;
const TOP = 14;
const BOTTOM = 40;
const LABEL = 18;
/** Room of the mark before a name: a name that had to move away from its line is still known by it. */
const MARK = 22;

/** Steps of 1, 2 or 5 times a power of ten, about as many as wanted. */
function ticksOf(low: number, high: number, wanted: number): number[] {
  const rough = (high - low) / Math.max(1, wanted);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= rough) ?? rough;
  const ticks: number[] = [];
  for (let at = Math.ceil(low / step - 1e-9); at * step <= high + step * 1e-9; at += 1) {
    ticks.push(Number((at * step).toPrecision(12)));
  }
  return ticks;
}

/** Series over days with intervals as upright lines; names stand beside the last point, moved apart where they would meet. */
export function timePlot({
  series,
  first,
  last,
  lowest,
  highest,
  signs,
  width,
}: TimePlotInput): TimePlotLayout {
  const all = series.flatMap(({ points }) =>
    points.flatMap(({ value, lower, upper, open = false }) => [
      value,
      lower ?? value,
      open ? value + Math.abs(value) * 0.3 : (upper ?? value),
    ]),
  );
  const spread = all.length === 0 ? [0, 1] : [Math.min(...all), Math.max(...all)];
  const room = (spread[1] ?? 1) - (spread[0] ?? 0) || Math.abs(spread[0] ?? 0) * 0.02 || 1;
  const low = lowest ?? (spread[0] ?? 0) - room * 0.08;
  const high = highest ?? (spread[1] ?? 1) + room * 0.08;
  const names = series.map(({ name }) => textWidth(name));
  const left = 54;
  const right = width - Math.min(width * 0.34, Math.max(40, ...names) + 22 + MARK);
  const bottom = HEIGHT - BOTTOM;
  const days = last - first || 1;
  const x = (day: number): number => round(left + 8 + ((right - left - 16) * (day - first)) / days);
  const y = (value: number): number => {
    const held = Math.min(high, Math.max(low, value));
    return round(bottom - ((bottom - TOP) * (held - low)) / (high - low));
  };
  const drawn = series.map(({ name, place, points }) => {
    const own = points.map(({ x: day, value, lower, upper, open = false }) => ({
      open,
      x: x(day),
      y: y(value),
      from: lower === null ? null : y(lower),
      to: open ? TOP : upper === null ? null : y(upper),
    }));
    return {
      place,
      name,
      dash: DASHES[place % DASHES.length] ?? '',
      points: own,
      path: own.map((point, at) => `${at === 0 ? 'M' : 'L'}${point.x} ${point.y}`).join(''),
    };
  });
  const labels = labelsOf(drawn, { right, top: TOP, bottom, width });
  return {
    width,
    height: HEIGHT,
    left,
    right,
    top: TOP,
    bottom,
    days: ticksOf(first, last === first ? first + 1 : last, width < 500 ? 4 : 8).map((day) => ({
      x: x(day),
      label: String(day),
    })),
    values: ticksOf(low, high, 4).map((value) => ({ y: y(value), label: String(value) })),
    signs: signs.map((day) => ({ x: x(day) })),
    series: drawn.map(({ name: _name, ...one }, at) => ({ ...one, label: labels[at] ?? null })),
  };
}

function labelsOf(
  drawn: readonly { name: string; points: readonly { x: number; y: number }[] }[],
  { right, top, bottom, width }: { right: number; top: number; bottom: number; width: number },
): (TimePlotLayout['series'][number]['label'] | null)[] {
  const ends = drawn
    .flatMap(({ name, points }, at) => {
      const end = points.at(-1);
      return end ? [{ at, y: end.y, text: fitted(name, width - right - 14 - MARK) }] : [];
    })
    .sort((a, b) => a.y - b.y);
  const placed = ends.map(({ y }) => y);
  for (let at = 1; at < placed.length; at += 1) {
    placed[at] = Math.max(placed[at] ?? 0, (placed[at - 1] ?? 0) + LABEL);
  }
  // What was pushed below the plot is moved up again, from the last.
  let most = bottom + 4;
  for (let at = placed.length - 1; at >= 0; at -= 1) {
    placed[at] = Math.min(placed[at] ?? 0, most);
    most = (placed[at] ?? 0) - LABEL;
  }
  const labels: (TimePlotLayout['series'][number]['label'] | null)[] = drawn.map(() => null);
  ends.forEach(({ at, text }, index) => {
    labels[at] = { x: right + 18, y: round(Math.max(top - 2, placed[index] ?? 0) + 5), text };
  });
  return labels;
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
