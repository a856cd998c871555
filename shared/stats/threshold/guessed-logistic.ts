/** Answers at one place of the axis. */
export interface FittedLevel {
  x: number;
  n: number;
  correct: number;
}

/** pc = g + (1 - g) / (1 + exp(-(intercept + slope (x - centre)))). */
export interface GuessedLogisticFit {
  /** Mean of the places, each answer weighing the same. */
  centre: number;
  intercept: number;
  slope: number;
  logLikelihood: number;
  /** Inverse of the expected information for intercept and slope. */
  variance: { v00: number; v01: number; v11: number };
}

interface State {
  a: number;
  b: number;
  logLikelihood: number;
}

// In units of the range of places: a curve this steep, or this far out, is no longer told from a step or a flat line.
const STEEPEST = 200;

/**
 * Fits a logistic curve over a fixed guess rate g by maximum likelihood: Fisher scoring with halved steps, from the best
 * points of a grid, since the likelihood may have more than one summit. Null when the likelihood still grows at the
 * edge (all right, nobody above guessing, a clean step). Estimates within 1e-9 of the summit.
 * Needs answers at two places or more, n above 0. Errors: none. Source: McCullagh & Nelder 1989, Generalized Linear
 * Models, 2nd ed. (scoring); Finney 1971 (guessing as natural response).
 * Example: `fitGuessedLogistic([{ x: 0, n: 10, correct: 5 }, { x: 1, n: 10, correct: 9 }], 0).slope` is 2.19722457734
 */
export function fitGuessedLogistic(points: readonly FittedLevel[], g: number): GuessedLogisticFit | null {
  const xs = points.map(({ x }) => x);
  const range = Math.max(...xs) - Math.min(...xs);
  const n = points.reduce((sum, point) => sum + point.n, 0);
  const centre = points.reduce((sum, point) => sum + point.n * point.x, 0) / n;
  const scaled = points.map((point) => ({ ...point, x: (point.x - centre) / range }));
  const summits = starts(scaled, g).flatMap((start) => climb(scaled, g, start) ?? []);
  const [best] = summits.sort((one, other) => other.logLikelihood - one.logLikelihood);
  // A summit that is not above the edge is none.
  if (!best || edge(scaled, g) > best.logLikelihood - 1e-9) return null;
  const { i00, i01, i11 } = scores(scaled, g, best);
  const determinant = i00 * i11 - i01 * i01;
  if (!(determinant > 0)) return null;
  return {
    centre,
    intercept: best.a,
    slope: best.b / range,
    logLikelihood: best.logLikelihood,
    variance: {
      v00: i11 / determinant,
      v01: -i01 / determinant / range,
      v11: i00 / determinant / range ** 2,
    },
  };
}

function logLikelihood(points: readonly FittedLevel[], g: number, a: number, b: number): number {
  return points.reduce((sum, { x, n, correct }) => {
    const eta = a + b * x;
    // 1 - pc from its own formula keeps its digits near pc = 1.
    const right = g + (1 - g) / (1 + Math.exp(-eta));
    const wrong = (1 - g) / (1 + Math.exp(eta));
    const part = (count: number, share: number) => (count === 0 ? 0 : count * Math.log(share));
    return sum + part(correct, right) + part(n - correct, wrong);
  }, 0);
}

/** Score and expected information for intercept and slope. */
function scores(points: readonly FittedLevel[], g: number, { a, b }: { a: number; b: number }) {
  const total = { u0: 0, u1: 0, i00: 0, i01: 0, i11: 0 };
  for (const { x, n, correct } of points) {
    const eta = a + b * x;
    const detect = 1 / (1 + Math.exp(-eta));
    const miss = 1 / (1 + Math.exp(eta));
    const right = g + (1 - g) * detect;
    // detect / right is 1 without guessing, also where both are too small to divide.
    const share = g === 0 ? 1 : detect / right;
    const u = (correct - n * right) * share;
    const w = n * (1 - g) * share * detect * miss;
    total.u0 += u;
    total.u1 += u * x;
    total.i00 += w;
    total.i01 += w * x;
    total.i11 += w * x * x;
  }
  return total;
}

function starts(points: readonly FittedLevel[], g: number): State[] {
  const grid: State[] = [];
  for (const slope of [-8, -2, -0.5, 0.5, 1, 2, 4, 8, 16, 32, 64]) {
    for (let place = -1.5; place <= 1.5; place += 0.125) {
      const [a, b] = [-slope * place, slope];
      grid.push({ a, b, logLikelihood: logLikelihood(points, g, a, b) });
    }
  }
  grid.sort((one, other) => other.logLikelihood - one.logLikelihood);
  // The best few, and one for each slope, so that two summits are both seen.
  const bySlope = new Map(grid.toReversed().map((state) => [state.b, state]));
  return [...new Set([...grid.slice(0, 3), ...bySlope.values()])];
}

function climb(points: readonly FittedLevel[], g: number, start: State): State | null {
  let state = start;
  for (let turn = 0; turn < 500; turn += 1) {
    const { u0, u1, i00, i01, i11 } = scores(points, g, state);
    const determinant = i00 * i11 - i01 * i01;
    if (!(determinant > 1e-290)) return null;
    const stepA = (i11 * u0 - i01 * u1) / determinant;
    const stepB = (i00 * u1 - i01 * u0) / determinant;
    let size = 1;
    let next = state;
    for (let half = 0; half < 40; half += 1, size /= 2) {
      const [a, b] = [state.a + size * stepA, state.b + size * stepB];
      next = { a, b, logLikelihood: logLikelihood(points, g, a, b) };
      if (next.logLikelihood >= state.logLikelihood - 1e-13 * Math.abs(state.logLikelihood)) break;
    }
    const moved = Math.max(Math.abs(next.a - state.a), Math.abs(next.b - state.b));
    state = next;
    if (Math.abs(state.b) > STEEPEST || Math.abs(state.a) > STEEPEST) return null;
    if (moved <= 1e-12 * (1 + Math.abs(state.a) + Math.abs(state.b))) return state;
  }
  return null;
}

/** The highest likelihood of curves without end: a step from guessing to certainty, or none right but by guessing. */
function edge(points: readonly FittedLevel[], g: number): number {
  const sorted = [...new Set(points.map(({ x }) => x))].sort((a, b) => a - b);
  const part = (count: number, share: number) => (count === 0 ? 0 : count * Math.log(share));
  let best = -Infinity;
  // The levels up to `at` are guessed; the next one may lie on the step and have any share from g up; all above are certain.
  for (let at = -1; at < sorted.length; at += 1) {
    const onStep = sorted[at + 1] ?? Infinity;
    let sum = 0;
    const own = { n: 0, correct: 0 };
    for (const { x, n, correct } of points) {
      if (x < onStep) sum += part(correct, g) + part(n - correct, 1 - g);
      else if (x > onStep) sum += part(n - correct, 0);
      else {
        own.n += n;
        own.correct += correct;
      }
    }
    if (own.n > 0) {
      const share = Math.max(g, own.correct / own.n);
      sum += part(own.correct, share) + part(own.n - own.correct, 1 - share);
    }
    best = Math.max(best, sum);
  }
  return best;
}
