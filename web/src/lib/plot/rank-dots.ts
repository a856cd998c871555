import { fitted } from './sample-marks.ts';

export interface RankRow {
  name: string;
  place: number;
  meanRank: number;
  /** '27.5', and the letters beside it. */
  sum: string;
  letters: string | null;
  ranks: readonly { rank: number; people: number }[];
}

export interface RankLayout {
  width: number;
  height: number;
  left: number;
  right: number;
  rows: (Pick<RankRow, 'place' | 'sum' | 'letters'> & {
    name: string;
    nameX: number;
    nameY: number;
    y: number;
    x: number;
    dots: { x: number; r: number }[];
  })[];
  ticks: { x: number; label: string }[];
  axisY: number;
  /** How far two mean ranks must lie apart; null when no such distance is given. */
  critical: { from: number; to: number; y: number } | null;
}

/**
 * Samples as rows, the highest first; people as dots on the ranks they gave, larger for more people, and the mean rank as
 * the sample's own mark. On a narrow drawing names go above rows.
 */
export function rankLayout({
  rows,
  highest,
  critical,
  width,
}: {
  rows: readonly RankRow[];
  /** The largest rank there is. */
  highest: number;
  /** Critical difference of mean ranks. */
  critical: number | null;
  width: number;
}): RankLayout {
  const narrow = width < 600;
  const left = narrow ? 20 : 210;
  const right = width - (narrow ? 84 : 120);
  const x = (rank: number): number => round(left + ((right - left) * (rank - 1)) / Math.max(1, highest - 1));
  const pitch = narrow ? 62 : 46;
  const most = Math.max(1, ...rows.flatMap(({ ranks }) => ranks.map(({ people }) => people)));
  const largest = Math.min(15, (0.42 * (right - left)) / Math.max(1, highest - 1));
  const top = critical === null ? 12 : 44;
  const placed = rows
    .toSorted((a, b) => b.meanRank - a.meanRank || a.place - b.place)
    .map(({ name, place, meanRank, sum, letters, ranks }, index) => {
      const y = top + pitch * index + (narrow ? 40 : 24);
      return {
        place,
        sum,
        letters,
        name: fitted(name, narrow ? width - 30 : left - 34),
        nameX: narrow ? left - 8 : left - 26,
        nameY: narrow ? y - 22 : y + 5,
        y,
        x: x(meanRank),
        dots: ranks.map(({ rank, people }) => ({
          x: x(rank),
          r: round(Math.max(2.5, largest * Math.sqrt(people / most))),
        })),
      };
    });
  const axisY = top + pitch * rows.length + 12;
  const step = highest > 8 && narrow ? 2 : 1;
  const ticks = Array.from({ length: Math.floor(highest) }, (_tick, index) => index + 1)
    .filter((rank) => (rank - 1) % step === 0)
    .map((rank) => ({ x: x(rank), label: String(rank) }));
  return {
    width,
    height: axisY + 44,
    left,
    right,
    rows: placed,
    ticks,
    axisY,
    critical:
      critical === null
        ? null
        : { from: left, to: round(left + ((right - left) * critical) / Math.max(1, highest - 1)), y: 30 },
  };
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
