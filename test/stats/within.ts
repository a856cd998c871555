import { expect } from 'vitest';

/** Within an absolute tolerance, as the reference file states it. */
export function expectWithin(actual: number | null, expected: number, tolerance: number, what = ''): void {
  expect(actual, what).not.toBeNull();
  const off = Math.abs((actual ?? NaN) - expected);
  expect(off <= tolerance, `${what} ${actual} is not ${expected} to ${tolerance}`).toBe(true);
}

/** Within a relative tolerance. */
export function expectRelative(actual: number | null, expected: number, tolerance: number, what = ''): void {
  expectWithin(actual, expected, Math.abs(expected) * tolerance, what);
}
