import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { normalCdf } from '@oddglass/shared/stats/normal.ts';
import { expectRelative } from './within.ts';

// mpmath 1.3.0, ncdf at 40 digits, written by test/reference/normal.py: [z, P(Z <= z)].
const ROWS = JSON.parse(
  readFileSync(new URL('../reference/normal-values.json', import.meta.url), 'utf8'),
) as [number, number][];
/** Below it doubles are subnormal and lose digits. */
const FULL_DIGITS = -37.5;

describe('normal distribution, densely', () => {
  it('keeps its accuracy over middle, seams and tails', () => {
    const full = ROWS.filter(([z]) => z >= FULL_DIGITS);
    expect(full.length).toBeGreaterThan(1_200);
    for (const [z, p] of full) expectRelative(normalCdf(z), p, 5e-16, `at ${z}`);
  });

  it('dies out as doubles do, and not before', () => {
    expect(normalCdf(-38.4)).toBeGreaterThan(0);
    expect(normalCdf(-38.7)).toBe(0);
    for (let z = -38.7; z < 9; z += 0.01) expect(normalCdf(z + 0.01)).toBeGreaterThanOrEqual(normalCdf(z));
  });

  it('has its ends at the infinities', () => {
    expect(normalCdf(-Infinity)).toBe(0);
    expect(normalCdf(Infinity)).toBe(1);
    expect(normalCdf(NaN)).toBeNaN();
  });
});
