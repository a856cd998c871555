import { describe, expect, it } from 'vitest';
import { upperTail } from '@oddglass/shared/stats/binomial.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { exactP } from '@oddglass/shared/stats/discrimination/exact-p.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { fraction, named, referenceCase } from './reference-case.ts';
import { expectWithin } from './within.ts';

interface Table {
  p0: string;
  n: number[];
  alpha: string[];
}

describe('critical numbers', () => {
  it.each(
    ['crit-third', 'crit-half', 'crit-tenth'].map((id) =>
      referenceCase<Table, Record<string, (number | null)[]>>(id),
    ),
  )('$id, exact rational arithmetic and R 4.2.2', ({ input, expected }) => {
    const guessRate = fraction(input.p0);
    for (const alpha of input.alpha) {
      const ours = input.n.map((n) => criticalNumber({ n, alpha: Number(alpha), guessRate }));
      expect(ours, `alpha ${alpha}`).toEqual(expected[alpha]);
    }
  });

  const fao = referenceCase<{ columns_alpha: string[]; n: number[] }, Record<string, (number | null)[]>>(
    'crit-triangle-fao-published',
  );
  it(named(fao), () => {
    for (const n of fao.input.n) {
      const ours = fao.input.columns_alpha.map((alpha) =>
        criticalNumber({ n, alpha: Number(alpha), guessRate: 1 / 3 }),
      );
      expect(ours, `n = ${n}`).toEqual(fao.expected[String(n)]);
    }
  });

  it('8 of 12, 13 of 24, 18 of 36, 27 of 60 at 5 % (printed in ISO 4120; from memory)', () => {
    const ours = [12, 24, 36, 60].map((n) => criticalNumber({ n, alpha: 0.05, guessRate: 1 / 3 }));
    expect(ours).toEqual([8, 13, 18, 27]);
  });

  const edge = referenceCase<
    { p0: string[]; n_range: [number, number]; alpha: string[] },
    { p0: string; n: number; x: number; alpha: string }[]
  >('crit-edge-equality');
  it(`${named(edge)}: p = alpha is significant`, () => {
    for (const { p0, n, x, alpha } of edge.expected) {
      expect(criticalNumber({ n, alpha: Number(alpha), guessRate: fraction(p0) })).toBe(x);
    }
  });

  it('crit-edge-equality: no other tail up to n = 100 lies within 1e-9 of an alpha', () => {
    const near: unknown[] = [];
    for (const p0 of edge.input.p0) {
      for (let n = edge.input.n_range[0]; n <= edge.input.n_range[1]; n += 1) {
        for (let x = 0; x <= n; x += 1) {
          const tail = upperTail(x, n, fraction(p0));
          for (const alpha of edge.input.alpha) {
            if (Math.abs(tail / Number(alpha) - 1) < 1e-9) near.push({ p0, n, x, alpha });
          }
        }
      }
    }
    expect(near).toEqual(edge.expected);
  });

  const off = referenceCase<
    { n: number; p0: string; alpha: number },
    { 'qbinom_0.95': number; critical: number; P_at_least_14: number; P_at_least_15: number }
  >('crit-off-by-one');
  it(named(off), () => {
    const { n, alpha, p0 } = off.input;
    const guessRate = fraction(p0);
    expect(criticalNumber({ n, alpha, guessRate })).toBe(off.expected.critical);
    expect(off.expected.critical).toBe(off.expected['qbinom_0.95'] + 1);
    expectWithin(exactP({ correct: 14, n, guessRate }), off.expected.P_at_least_14, off.tolerance);
    expectWithin(exactP({ correct: 15, n, guessRate }), off.expected.P_at_least_15, off.tolerance);
  });

  it.each([
    { alpha: 0.2, above: 1n, below: 5n },
    { alpha: 0.1, above: 1n, below: 10n },
    { alpha: 0.05, above: 1n, below: 20n },
    { alpha: 0.01, above: 1n, below: 100n },
    { alpha: 0.001, above: 1n, below: 1000n },
  ])(
    'triangle, every n from 0 to 1000 at alpha $alpha, against whole-number arithmetic',
    ({ alpha, above, below }) => {
      // Tail and term at c in units of 3^-n. From n to n + 1: a tail gains the term just below it, right by guessing.
      let c = 0;
      let tail = 1n;
      let all = 1n;
      for (let n = 0; n <= 1000; n += 1) {
        // The smallest c with tail <= alpha; beyond n none exists.
        if (tail * below > all * above) {
          let at = choose(n, c) * 2n ** BigInt(n - c);
          while (c <= n && tail * below > all * above) {
            tail -= at;
            at = (at * BigInt(n - c)) / (BigInt(c + 1) * 2n);
            c += 1;
          }
        }
        const expected = c <= n ? c : null;
        expect(criticalNumber({ n, alpha, guessRate: 1 / 3 }), `n = ${n}`).toBe(expected);
        const justBelow = c > 0 && c - 1 <= n ? choose(n, c - 1) * 2n ** BigInt(n - c + 1) : 0n;
        tail = 3n * tail + justBelow;
        all *= 3n;
      }
    },
  );

  it('is null for nobody and refuses what is no risk', () => {
    expect(criticalNumber({ n: 0, alpha: 0.05, guessRate: 1 / 3 })).toBeNull();
    for (const [field, input] of [
      ['n', { n: 2.5, alpha: 0.05, guessRate: 1 / 3 }],
      ['alpha', { n: 12, alpha: 0, guessRate: 1 / 3 }],
      ['alpha', { n: 12, alpha: 1, guessRate: 1 / 3 }],
      ['guessRate', { n: 12, alpha: 0.05, guessRate: 1 }],
    ] as const) {
      expect(() => criticalNumber(input)).toThrowError(StatsInputError);
      expect(() => criticalNumber(input)).toThrowError(expect.objectContaining({ field }));
    }
  });
});

function choose(n: number, k: number): bigint {
  let value = 1n;
  for (let i = 1; i <= Math.min(k, n - k); i += 1) value = (value * BigInt(n - i + 1)) / BigInt(i);
  return value;
}
