import { fitted, sampleLegend, type LegendEntry } from './sample-marks.ts';

export interface SharesRow {
  name: string;
  /** In the order of the samples; share null without answers. */
  shares: readonly { checked: number; asked: number; share: number | null; lower: number; upper: number }[];
}

export interface ShareMark {
  place: number;
  x: number;
  y: number;
  /** Interval; null where rows hold all samples on one line. */
  from: number | null;
  to: number | null;
  /** '10 of 12'; empty where rows hold all samples on one line. */
  count: string;
}

export interface SharesLayout {
  width: number;
  height: number;
  left: number;
  right: number;
  legend: LegendEntry[];
  rows: {
    name: string;
    nameX: number;
    nameY: number;
    top: number;
    bottom: number;
    marks: ShareMark[];
    span: { from: number; to: number; y: number } | null;
  }[];
  ticks: { x: number; label: string; anchor: 'start' | 'middle' | 'end' }[];
  axisY: number;
}

/** Up to here every sample of a word has a line of its own, with its interval and count. */
export const MAX_LANES = 4;
const LANE = 19;
const RADIUS = 6;

/**
 * Words as rows, samples as marks on a common scale from none to all. Few samples stand under each other with intervals and
 * counts; many stand on one line, those of equal shares beside each other upwards. On a narrow drawing names go above rows.
 */
export function sharesLayout({
  rows,
  samples,
  width,
}: {
  rows: readonly SharesRow[];
  samples: readonly string[];
  width: number;
}): SharesLayout {
  const narrow = width < 600;
  const lanes = samples.length <= MAX_LANES;
  const left = narrow ? 14 : 190;
  const right = width - (lanes ? 86 : 16);
  const x = (share: number): number => round(left + (right - left) * share);
  const { entries, height: legendHeight } = sampleLegend(samples, width);
  let y = legendHeight + 14;
  const placed = rows.map(({ name, shares }) => {
    const top = y;
    const above = narrow ? 22 : 0;
    const { marks, height } = lanes ? inLanes(shares, x) : onOneLine(shares, x);
    const shown = marks.map((mark) => ({ ...mark, y: round(top + above + 9 + mark.y) }));
    const at = shown.map((mark) => mark.x);
    y = top + above + height + 18;
    return {
      name: fitted(name, narrow ? width - 24 : left - 18),
      nameX: narrow ? left : left - 14,
      nameY: narrow ? top + 17 : round(top + 9 + height / 2 + 5),
      top,
      bottom: y,
      marks: shown,
      span:
        lanes || at.length === 0
          ? null
          : { from: Math.min(...at), to: Math.max(...at), y: round(top + above + 9 + height - RADIUS - 2) },
    };
  });
  const steps = narrow ? [0, 0.5, 1] : [0, 0.25, 0.5, 0.75, 1];
  return {
    width,
    height: y + 34,
    left,
    right,
    legend: entries,
    rows: placed,
    ticks: steps.map((share) => ({
      x: x(share),
      label: `${share * 100} %`,
      anchor: x(share) < 20 ? 'start' : x(share) > width - 30 ? 'end' : 'middle',
    })),
    axisY: y + 4,
  };
}

type Placed = { marks: ShareMark[]; height: number };

function inLanes(shares: SharesRow['shares'], x: (share: number) => number): Placed {
  const marks = shares.map(({ checked, asked, share, lower, upper }, place) => ({
    place,
    x: x(share ?? 0),
    y: LANE * (place + 0.5),
    from: asked === 0 ? null : x(lower),
    to: asked === 0 ? null : x(upper),
    count: asked === 0 ? 'no answers' : `${checked} of ${asked}`,
  }));
  return { marks: marks.filter(({ place }) => shares[place]?.share !== null), height: LANE * shares.length };
}

function onOneLine(shares: SharesRow['shares'], x: (share: number) => number): Placed {
  const ends: number[] = [];
  const marks = shares
    .flatMap(({ share }, place) => (share === null ? [] : [{ place, x: x(share) }]))
    .sort((a, b) => a.x - b.x || a.place - b.place)
    .map(({ place, x: at }) => {
      const free = ends.findIndex((end) => at - end >= 2 * RADIUS + 3);
      const level = free < 0 ? ends.length : free;
      ends[level] = at;
      return { place, x: at, level };
    });
  const levels = Math.max(1, ends.length);
  const height = levels * (2 * RADIUS + 3);
  return {
    marks: marks.map(({ place, x: at, level }) => ({
      place,
      x: at,
      y: height - RADIUS - 2 - level * (2 * RADIUS + 3),
      from: null,
      to: null,
      count: '',
    })),
    height,
  };
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
