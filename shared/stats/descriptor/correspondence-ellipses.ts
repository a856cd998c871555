import type { RandomSource } from '../../ground/random.ts';
import { fCritical } from '../f-ratio.ts';
import { fastRandom } from '../../ground/fast-random.ts';
import { atOnce, type Steps } from '../../ground/in-slices.ts';
import { integerIn, properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { ballotTable, type DescriptorBallots } from './ballot-table.ts';
import { correspondence, type Correspondence } from './correspondence.ts';

export interface SampleEllipse {
  /** Sample, 0-based. */
  index: number;
  /** Mean of the resampled points, on the first two axes. */
  centre: [number, number];
  /** Half axes, the longer first. */
  halfAxes: [number, number];
  /** Of the longer half axis, in radians from the first axis of the map, above -pi/2 up to pi/2. */
  angle: number;
  /** Resamples in which the sample had any descriptor. */
  resamples: number;
}

export interface CorrespondenceEllipses extends MethodFacts {
  map: Correspondence;
  /**
   * One per sample on the map; null for fewer than three assessors and when the map has fewer than two axes, for it must
   * not be drawn as a plane.
   */
  ellipses: SampleEllipse[] | null;
  level: number;
  resamples: number;
}

export interface EllipsesInput {
  ballots: DescriptorBallots;
  level: number;
  resamples: number;
  random: RandomSource;
}

/** Resamples of a step: a few milliseconds for 200 assessors. */
const TURNS = 128;

/**
 * How far would the samples move on the map with other assessors of the same kind?
 * Whole assessors are drawn with replacement; each drawn table's row profiles q are put onto the axes of the observed map,
 * f = sum q_j G_j / d. The ellipse is the region of a bivariate normal mean with the covariance of these points, half axes
 * sqrt(x lambda), x = 2 n / (n - 2) F(level; 2, n - 2) for n assessors (Hotelling, and n / (n - 1) for what resampling leaves
 * out). The axes are held fixed (partial bootstrap) although they too were found from these assessors, so that the ellipses
 * are too small: of 0.95 they hold the true point in 0.85 of cases for 10 assessors, 0.88 for 20, 0.91 for 40, 0.94 for 100
 * (own simulation, 4 samples, 10 descriptors).
 * Ellipses apart suggest different profiles, but they are no test: profileTest is.
 *
 * ballots as in ballotTable; level between 0 and 1; resamples whole from 100 to 100,000; the same random bytes give the same
 * ellipses. Errors: StatsInputError.
 * Source: Greenacre 1984, chapter 8; Lebart 2006, in Greenacre & Blasius, Multiple Correspondence Analysis; Hotelling 1931,
 * Ann. Math. Stat. 2:360 (all from memory).
 * Example: `correspondenceEllipses({ ballots: [[[1, 0], [0, 1]]], level: 0.95, resamples: 100, random: { bytes: (count) => new Uint8Array(count) } }).map.axes.length` is 1
 */
export function correspondenceEllipses(input: EllipsesInput): CorrespondenceEllipses {
  return atOnce(correspondenceEllipsesSteps(input));
}

/** The same in steps for inSlices, since 10,000 resamples of a large panel would hold up a server. */
export function* correspondenceEllipsesSteps({
  ballots,
  level,
  resamples,
  random,
}: EllipsesInput): Steps<CorrespondenceEllipses> {
  properProbability('level', level);
  integerIn('resamples', resamples, 100, 100_000);
  const { assessors, samples, descriptors, table, cells } = ballotTable(ballots);
  const map = correspondence({ table });
  const result = {
    map,
    level,
    resamples,
    method: 'Correspondence analysis, partial bootstrap over assessors',
    assumption:
      'Assessors are a random sample of those meant; the axes of the map are held fixed, which makes ellipses too small for fewer than some 100 assessors.',
    source: 'Greenacre 1984; Lebart 2006; Hotelling 1931',
  };
  if (map.axes.length < 2 || assessors < 3) return { ...result, ellipses: null };

  // Standard column coordinates on two axes, 0 for columns left out.
  const standard = [0, 1].map((axis) => {
    const unit = new Float64Array(descriptors);
    const d = Math.sqrt(map.axes[axis]?.inertia ?? 1);
    for (const { index, coordinates } of map.columns) unit[index] = (coordinates[axis] ?? 0) / d;
    return unit;
  });
  const [first, second] = [standard[0] ?? new Float64Array(0), standard[1] ?? new Float64Array(0)];
  // Per assessor and sample what they add to the sums of a profile: two coordinates and the count.
  const adds = cells.map((chosen) => {
    const sums = new Float64Array(3 * samples);
    for (const cell of chosen) {
      const at = 3 * Math.floor(cell / descriptors);
      const descriptor = cell % descriptors;
      sums[at] = (sums[at] ?? 0) + (first[descriptor] ?? 0);
      sums[at + 1] = (sums[at + 1] ?? 0) + (second[descriptor] ?? 0);
      sums[at + 2] = (sums[at + 2] ?? 0) + 1;
    }
    return sums;
  });
  const clouds = map.rows.map(({ index, coordinates }) => ({
    index,
    cloud: new Cloud(coordinates[0] ?? 0, coordinates[1] ?? 0),
  }));
  const draw = fastRandom(random);
  const sums = new Float64Array(3 * samples);
  for (let turn = 0; turn < resamples; turn += 1) {
    sums.fill(0);
    for (let i = 0; i < assessors; i += 1) {
      const add = adds[draw(assessors)];
      if (add) for (let at = 0; at < sums.length; at += 1) sums[at] = (sums[at] ?? 0) + (add[at] ?? 0);
    }
    for (const { index, cloud } of clouds) {
      const count = sums[3 * index + 2] ?? 0;
      if (count > 0) cloud.add((sums[3 * index] ?? 0) / count, (sums[3 * index + 1] ?? 0) / count);
    }
    if (turn % TURNS === TURNS - 1) yield;
  }
  // Resampling n assessors shows (n - 1) / n of the variance; Hotelling's region pays for having estimated it.
  const reach = ((2 * assessors) / (assessors - 2)) * fCritical(1 - level, 2, assessors - 2);
  return { ...result, ellipses: clouds.map(({ index, cloud }) => ({ index, ...cloud.ellipse(reach) })) };
}

/** Mean and covariance of points in a plane, taken from a point near them. */
class Cloud {
  private readonly x0: number;
  private readonly y0: number;
  private n = 0;
  private x = 0;
  private y = 0;
  private xx = 0;
  private xy = 0;
  private yy = 0;

  constructor(x0: number, y0: number) {
    this.x0 = x0;
    this.y0 = y0;
  }

  add(x: number, y: number): void {
    const [dx, dy] = [x - this.x0, y - this.y0];
    this.n += 1;
    this.x += dx;
    this.y += dy;
    this.xx += dx * dx;
    this.xy += dx * dy;
    this.yy += dy * dy;
  }

  ellipse(reach: number): Omit<SampleEllipse, 'index'> {
    const n = this.n;
    const [mx, my] = n === 0 ? [0, 0] : [this.x / n, this.y / n];
    const over = Math.max(1, n - 1);
    const xx = (this.xx - n * mx * mx) / over;
    const yy = (this.yy - n * my * my) / over;
    const xy = (this.xy - n * mx * my) / over;
    const half = (xx + yy) / 2;
    const apart = Math.hypot((xx - yy) / 2, xy);
    return {
      centre: [this.x0 + mx, this.y0 + my],
      halfAxes: [Math.sqrt(reach * (half + apart)), Math.sqrt(reach * Math.max(0, half - apart))],
      angle: Math.atan2(2 * xy, xx - yy) / 2,
      resamples: n,
    };
  }
}
