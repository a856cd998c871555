import { stirlingError } from './saddle-point.ts';

/**
 * From a tail of normal variables of known spread to the same with an estimated one: integral of
 * P(max > s x) over the density of s = chi(df) / sqrt(df), for the studentized range and Dunnett's test alike.
 *
 * `tail(r)` is the upper tail for known spread, falling from 1 at r = 0; `x` above 0, df above 0, Infinity included.
 * In u = ln s the integrand is smooth, has one peak and dies out on both sides, where the trapezoid rule gains digits
 * exponentially: the step is halved until 1e-13 relative. Source: Davis & Rabinowitz, Methods of Numerical Integration
 * (1984), section 3.4 (trapezoid rule on the whole line; from memory).
 * Example: `studentized((r) => Math.exp(-r), 2, Infinity)` is 0.135335283237
 */
export function studentized(tail: (r: number) => number, x: number, df: number): number {
  if (df === Infinity) return tail(x);
  const half = df / 2;
  // Density of u: 2 half^half / Gamma(half) exp(-half (e^2u - 2u)), in Stirling's form.
  const front = 2 * Math.sqrt(half / (2 * Math.PI)) * Math.exp(-stirlingError(half));
  const integrand = (u: number) => {
    const exponent = -half * (Math.expm1(2 * u) - 2 * u);
    return exponent < -745 ? 0 : Math.exp(exponent) * tail(x * Math.exp(u));
  };

  const peak = peakOf(integrand, 1 / Math.sqrt(2 * df));
  if (peak.height === 0) return 0;
  let step = Math.min(peak.width, 1) / 2;
  let sum = lattice(integrand, peak, step, 0);
  for (let turn = 0; turn < 8; turn += 1) {
    const between = lattice(integrand, peak, step, step / 2);
    const before = sum * step;
    sum += between;
    step /= 2;
    if (Math.abs(sum * step - before) <= 1e-13 * before) break;
  }
  return Math.min(1, front * sum * step);
}

interface Peak {
  at: number;
  height: number;
  /** Distance at which the integrand has fallen to about 0.6 of its height. */
  width: number;
}

/** Walks up from u = 0, where the density itself is highest; a tail only moves the peak to the left. */
function peakOf(integrand: (u: number) => number, scale: number): Peak {
  let at = 0;
  let height = integrand(0);
  // Out of reach of a double: somewhere to the left, or nowhere.
  for (let turn = 0; height === 0 && turn < 60; turn += 1) {
    at -= Math.max(scale, 0.25);
    height = integrand(at);
  }
  for (let step = Math.min(1, 8 * scale); step > scale / 8; step /= 2) {
    for (let next = integrand(at - step); next > height; next = integrand(at - step)) {
      at -= step;
      height = next;
    }
    for (let next = integrand(at + step); next > height; next = integrand(at + step)) {
      at += step;
      height = next;
    }
  }
  let width = scale;
  while (width > 1e-9 && integrand(at - width) < 0.6 * height && integrand(at + width) < 0.6 * height)
    width /= 1.5;
  return { at, height, width };
}

/** Sum over at + offset + i step, all whole i, each way until terms no longer count. */
function lattice(
  integrand: (u: number) => number,
  { at, height }: Peak,
  step: number,
  offset: number,
): number {
  let sum = 0;
  for (const [first, way] of [
    [0, 1],
    [-1, -1],
  ] as const) {
    for (let i = first; Math.abs(i) < 20_000; i += way) {
      const term = integrand(at + offset + i * step);
      sum += term;
      if (term < 1e-17 * height) break;
    }
  }
  return sum;
}
