import { fUpperTail } from '../f-ratio.ts';
import { StatsInputError } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { normalCdf, normalQuantile } from '../normal.ts';
import { dot } from './matrix.ts';
import { namesOf } from './ratings.ts';

export interface ResidualChecks extends MethodFacts {
  /** W', squared correlation with normal scores: 1 is a straight normal plot. Null below 5 residuals or without variation. */
  straightness: number | null;
  /** p of W' under normal errors; small: not normal. */
  normalP: number | null;
  /** p of Brown and Forsythe's test of equal spread in all samples; null where it cannot be made. */
  spreadP: number | null;
  /** Residuals beyond 3 standard deviations. */
  far: number;
  /** The findings in sentences. */
  sayings: string[];
}

/** Below this p a check is flagged. Common practice for diagnostics, no source. */
const RESIDUAL_ALPHA = 0.01;
const FAR = 3;

/**
 * Do residuals look as the model assumes? Straightness of the normal plot (Shapiro and Francia's W' with Royston's p),
 * equal spread across samples (Brown and Forsythe: analysis of variance of distances from the sample's median), residuals
 * beyond 3 SD. A look, not a licence: with few ratings little is found, with many everything; F tests bear mild departures.
 * Nobody is left out because of it. Residuals finite. Errors: StatsInputError.
 * Source: Shapiro & Francia 1972, J. Am. Stat. Assoc. 67:215; Royston 1993, Stat. Med. 12:181 (p, 5 to 5000 residuals;
 * from memory); Brown & Forsythe 1974, J. Am. Stat. Assoc. 69:364.
 * Example: `residualChecks({ residuals: [-1.2, -0.7, -0.3, 0, 0.3, 0.7, 1.2].map((residual) => ({ sample: 's', residual })) }).straightness` is 0.999492471244
 */
export function residualChecks({
  residuals,
}: {
  residuals: readonly { sample: string; residual: number }[];
}): ResidualChecks {
  residuals.forEach(({ residual }, index) => {
    if (!Number.isFinite(residual)) {
      throw new StatsInputError(`residuals[${index}].residual`, residual, 'a finite number');
    }
  });
  const values = residuals.map(({ residual }) => residual).sort((a, b) => a - b);
  const n = values.length;
  const middle = values.reduce((sum, value) => sum + value, 0) / n;
  const centred = values.map((value) => value - middle);
  const squares = dot(centred, centred);
  const varied = n >= 5 && squares > 0;
  const straightness = varied ? normalPlot(centred, squares) : null;
  const normalP = straightness === null ? null : roystonP(straightness, n);
  const spreadP = equalSpread(residuals);
  const limit = FAR * Math.sqrt(squares / (n - 1));
  const far = varied ? centred.filter((value) => Math.abs(value) > limit).length : 0;
  return {
    straightness,
    normalP,
    spreadP,
    far,
    sayings: say({ n, normalP, spreadP, far }),
    method: "Residual checks: Shapiro-Francia W', Brown-Forsythe, residuals beyond 3 SD",
    assumption:
      'Residuals are those of the fitted model; they hang together a little, so that p-values are approximate.',
    source: 'Shapiro & Francia 1972; Royston 1993; Brown & Forsythe 1974',
  };
}

function normalPlot(centred: readonly number[], squares: number): number {
  // Blom's normal scores.
  const scores = centred.map((_, i) => normalQuantile((i + 1 - 0.375) / (centred.length + 0.25)));
  return dot(centred, scores) ** 2 / (squares * dot(scores, scores));
}

function roystonP(w: number, n: number): number {
  const u = Math.log(n);
  const v = Math.log(u);
  const z =
    (Math.log1p(-Math.min(w, 1 - 1e-15)) - (-1.2725 + 1.0521 * (v - u))) / (1.0308 - 0.26758 * (v + 2 / u));
  return normalCdf(-z);
}

function equalSpread(residuals: readonly { sample: string; residual: number }[]): number | null {
  const groups = namesOf(residuals.map(({ sample }) => sample)).map((name) => {
    const own = residuals.filter(({ sample }) => sample === name).map(({ residual }) => residual);
    const sorted = own.sort((a, b) => a - b);
    const half = (sorted.length - 1) / 2;
    const median = ((sorted[Math.floor(half)] ?? 0) + (sorted[Math.ceil(half)] ?? 0)) / 2;
    return sorted.map((value) => Math.abs(value - median));
  });
  const n = residuals.length;
  if (groups.length < 2 || n - groups.length < 1) return null;
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const grand = mean(groups.flat());
  const between = groups.reduce((sum, group) => sum + group.length * (mean(group) - grand) ** 2, 0);
  const within = groups.reduce((sum, group) => {
    const own = mean(group);
    return sum + group.reduce((part, value) => part + (value - own) ** 2, 0);
  }, 0);
  if (within <= 1e-22 * n * grand ** 2) return null;
  const f = between / (groups.length - 1) / (within / (n - groups.length));
  return fUpperTail(f, groups.length - 1, n - groups.length);
}

function say({
  n,
  normalP,
  spreadP,
  far,
}: {
  n: number;
  normalP: number | null;
  spreadP: number | null;
  far: number;
}) {
  if (normalP === null) return ['There are too few residuals, or none that vary, to check the assumptions.'];
  const said = [
    normalP <= RESIDUAL_ALPHA
      ? 'Residuals do not look normal: read p and intervals with care, or treat the scale as ordered categories.'
      : 'Residuals show no clear departure from a normal shape.',
  ];
  if (spreadP !== null) {
    said.push(
      spreadP <= RESIDUAL_ALPHA
        ? 'Spread differs between samples: comparisons of the more even samples are too careful, of the others too bold.'
        : 'Spread shows no clear difference between samples.',
    );
  }
  if (far > 0) {
    said.push(
      `${far} of ${n} residuals ${far === 1 ? 'lies' : 'lie'} beyond 3 standard deviations: look for slips of the pen, leave nobody out without a rule.`,
    );
  }
  return said;
}
