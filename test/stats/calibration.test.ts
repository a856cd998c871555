import { describe, expect, it } from 'vitest';
import { psychometric, type ThurstonianTest } from '@oddglass/shared/stats/discrimination/psychometric.ts';
import {
  intervalClaims,
  replicateClaims,
  testClaims,
  twoOfFiveClaims,
} from '../support/calibration-claims.ts';
import { familyClaims } from '../support/calibration-families.ts';
import { furtherClaims } from '../support/calibration-further.ts';
import { storyClaims } from '../support/calibration-story.ts';
import { calibrate, calibrationTable } from '../support/calibration.ts';
import { count, simulatedPanel } from '../support/percepts.ts';

// `npm run calibrate` in small. The seed is fixed: a failure is a change of code, not of luck.
describe('simulated panels', () => {
  it.each(['triangle', 'duo-trio', 'tetrad', '2-AFC', '3-AFC', 'two-of-five'] satisfies ThurstonianTest[])(
    '%s: percepts and the rule alone give the psychometric function',
    (test) => {
      const panel = simulatedPanel(7);
      const n = 40_000;
      for (const d of [0, 0.8, 2]) {
        const right = count(n, () => panel.answer(test, d)) / n;
        const pc = psychometric(test, d);
        expect(Math.abs(right - pc), `d' ${d}`).toBeLessThan(4 * Math.sqrt((pc * (1 - pc)) / n));
      }
    },
  );

  it('beta variates have their mean and variance', () => {
    const panel = simulatedPanel(8);
    const n = 40_000;
    for (const [a, b] of [
      [0.3, 0.6],
      [2, 5],
    ] as const) {
      const drawn = Array.from({ length: n }, () => panel.beta(a, b));
      const mean = drawn.reduce((sum, x) => sum + x, 0) / n;
      const variance = drawn.reduce((sum, x) => sum + (x - mean) ** 2, 0) / n;
      const wanted = (a * b) / ((a + b) ** 2 * (a + b + 1));
      expect(Math.abs(mean - a / (a + b))).toBeLessThan(4 * Math.sqrt(wanted / n));
      expect(Math.abs(variance / wanted - 1)).toBeLessThan(0.03);
    }
  });

  it('the same seed simulates the same panel, another seed another', () => {
    const [one, same, other] = [1, 1, 2].map((seed) => {
      const panel = simulatedPanel(seed);
      return [panel.uniform(), panel.normal()];
    });
    expect(one).toEqual(same);
    expect(one).not.toEqual(other);
  });
});

describe('calibration', () => {
  const promised = 0.05;
  const judge = (
    kind: 'alarm' | 'coverage' | 'prediction',
    really: number,
    exact: boolean,
    wanted = promised,
  ) => {
    const panel = simulatedPanel(3);
    const claim = { kind, method: 'm', setting: 's', promised: wanted, exact, runs: 5000 };
    return calibrate({ ...claim, once: () => panel.uniform() < really }).verdict;
  };

  it('catches a method that breaks its promise, and lets off one that keeps it', () => {
    expect(judge('alarm', 0.05, true)).toBe('holds');
    expect(judge('alarm', 0.08, true)).toBe('wrong');
    expect(judge('alarm', 0.09, false)).toBe('short');
    expect(judge('alarm', 0.01, true)).toBe('cautious');
    expect(judge('coverage', 0.9, true, 0.9)).toBe('holds');
    expect(judge('coverage', 0.85, true, 0.9)).toBe('wrong');
    expect(judge('coverage', 0.99, false, 0.9)).toBe('cautious');
    expect(judge('prediction', 0.5, true, 0.5)).toBe('holds');
    expect(judge('prediction', 0.55, true, 0.5)).toBe('wrong');
    expect(judge('prediction', 0.45, false, 0.5)).toBe('short');
  });

  it('no exact method breaks its promise', () => {
    const panel = simulatedPanel(1);
    const rows = [
      ...testClaims(panel, 400),
      ...intervalClaims(panel, 400),
      ...replicateClaims(panel, 80),
      ...furtherClaims(panel, 80),
      ...familyClaims(panel, 80),
      ...twoOfFiveClaims(panel, 400),
      ...storyClaims(panel, 400, 100),
    ];
    expect(rows.length).toBeGreaterThan(80);
    expect(rows.filter(({ method }) => method.startsWith('advice of a story'))).toHaveLength(8);
    expect(rows.filter(({ verdict }) => verdict === 'wrong')).toEqual([]);
    expect(calibrationTable(rows).split('\n')).toHaveLength(rows.length + 1);
  });
});
