/**
 * Where an increasing function crosses 0 on [low, high]: Newton's steps, each kept inside a bracket that
 * shrinks, bisection where a step would leave it (a slope of 0 included).
 *
 * `value` must not be above 0 at `low` nor below 0 at `high`; stops when a step is below 1e-15 of the root.
 * Not for functions that turn back: it would find one of the crossings. Source: the usual safeguarded
 * Newton method, W. H. Press et al., Numerical Recipes, section 9.4 (rtsafe), from memory.
 * Example: `crossing({ low: 0, high: 2, start: 1, value: (x) => x * x - 2, slope: (x) => 2 * x })` is 1.41421356237
 */
export function crossing({
  low,
  high,
  start,
  value,
  slope,
}: {
  low: number;
  high: number;
  start: number;
  value: (x: number) => number;
  slope: (x: number) => number;
}): number {
  let from = low;
  let to = high;
  let x = start > low && start < high ? start : (low + high) / 2;
  for (let turn = 0; turn < 300; turn += 1) {
    const fx = value(x);
    if (fx === 0) return x;
    if (fx > 0) to = x;
    else from = x;
    const newton = x - fx / slope(x);
    const next = newton > from && newton < to ? newton : (from + to) / 2;
    if (Math.abs(next - x) <= 1e-15 * Math.abs(next)) return next;
    x = next;
  }
  return x;
}
