import { fitted } from './sample-marks.ts';

export interface ProfileRow {
  /** What the row is about: an attribute; empty where there is only one. */
  name: string;
  samples: readonly {
    /** Place of the sample in the order of the result, from 0. */
    place: number;
    name: string;
    mean: number;
    lower: number | null;
    upper: number | null;
    /** '62.1 a'. */
    text: string;
  }[];
}

export interface ProfileLayout {
  height: number;
  left: number;
  right: number;
  axisY: number;
  ticks: { x: number; label: string }[];
  rows: {
    name: string;
    nameX: number;
    nameY: number;
    /** Line above the row; null for the first. */
    ruleY: number | null;
    dots: { place: number; x: number; y: number; from: number | null; to: number | null; text: string }[];
  }[];
}

const PITCH = 22;
const GAP = 20;
const TOP = 14;

/**
 * Attributes below each other on one scale; in each, samples in their order with mean and interval, each on a line of its own
 * so that intervals do not hide one another. On a narrow drawing names stand above their rows.
 */
export function profileLayout({
  rows,
  lowest,
  highest,
  width,
}: {
  rows: readonly ProfileRow[];
  lowest: number;
  highest: number;
  width: number;
}): ProfileLayout {
  const narrow = width < 600;
  const left = narrow ? 16 : 200;
  const right = width - (narrow ? 78 : 100);
  const x = (value: number): number =>
    round(
      left + ((right - left) * (Math.min(highest, Math.max(lowest, value)) - lowest)) / (highest - lowest),
    );
  let y = TOP;
  const placed = rows.map(({ name, samples }, index) => {
    const ruleY = index === 0 ? null : y;
    const named = name !== '';
    y += index === 0 ? 4 : GAP / 2;
    if (narrow && named) y += 22;
    const nameY = narrow ? y - 6 : y + PITCH / 2 + 5;
    const dots = samples.map(({ place, mean, lower, upper, text }, line) => ({
      place,
      x: x(mean),
      y: y + PITCH * line + PITCH / 2,
      from: lower === null ? null : x(lower),
      to: upper === null ? null : x(upper),
      text,
    }));
    y += PITCH * samples.length + GAP / 2;
    return {
      name: fitted(name, narrow ? width - 20 : left - 20),
      nameX: narrow ? 8 : 4,
      nameY,
      ruleY,
      dots,
    };
  });
  const step = tickStep(highest - lowest);
  const ticks = Array.from({ length: Math.floor((highest - lowest) / step) + 1 }, (_tick, index) => {
    const value = lowest + index * step;
    return { x: x(value), label: String(value) };
  });
  return { height: y + 34, left, right, axisY: y + 4, ticks, rows: placed };
}

function tickStep(range: number): number {
  if (range > 50) return 25;
  return range > 12 ? 5 : range > 6 ? 2 : 1;
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
