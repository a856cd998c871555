import { freeMl, liquidLedger, type LiquidEntry } from '@oddglass/shared/fermentation/ledger.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const at = (hour: number): string => new Date(Date.UTC(2031, 2, 1, hour)).toISOString();
const entry = (kind: LiquidEntry['kind'], ml: number, hour: number, order = 1): LiquidEntry => ({
  kind,
  ml,
  at: at(hour),
  order,
  note: '',
});
const NOTHING = { reservedMl: 0, vesselMl: null };

describe('the ledger of an arm', () => {
  test('adds, takes and tells what is left after each', () => {
    const { leftMl, lines, headspaceMl } = liquidLedger(
      [entry('poured', 360, 9), entry('filled', 5000, 0), entry('pull', 100, 3), entry('loss', 40.5, 4)],
      { reservedMl: 0, vesselMl: 5500 },
    );
    expect(lines.map((line) => line.leftMl)).toEqual([5000, 4900, 4859.5, 4499.5]);
    expect([leftMl, headspaceMl]).toEqual([4499.5, 1000.5]);
  });

  test('what was counted stands, whatever was noted before, and what comes later is taken from it', () => {
    const { leftMl } = liquidLedger(
      [entry('filled', 5000, 0), entry('pull', 4000, 5), entry('counted', 2000, 6), entry('pull', 100, 7)],
      NOTHING,
    );
    expect(leftMl).toBe(1900);
    // A pull that was read before the count and typed after it is not taken twice.
    const late = [entry('filled', 5000, 0), entry('counted', 2000, 6, 2), entry('pull', 100, 5, 3)];
    expect(liquidLedger(late, NOTHING).leftMl).toBe(2000);
  });

  test('more taken than was there is told, and headspace is never more than the vessel', () => {
    const ledger = liquidLedger([entry('filled', 100, 0), entry('pull', 150, 1)], {
      reservedMl: 0,
      vesselMl: 400,
    });
    expect([ledger.leftMl, ledger.headspaceMl]).toEqual([-50, 400]);
    expect(freeMl(ledger)).toBe(0);
  });

  test('what is held back is not free, nor gone', () => {
    expect(freeMl(liquidLedger([entry('filled', 900, 0)], { reservedMl: 480, vesselMl: null }))).toBe(420);
  });
});

// Whatever happens to an arm over months, by a model that keeps one number and knows nothing of entries.
type Step =
  | { kind: 'added' | 'counted' | 'loss' | 'pull'; ml: number }
  | { kind: 'plan' | 'reveal' | 'give-up'; ml: number };
const step: fc.Arbitrary<Step> = fc.record({
  kind: fc.constantFrom('added', 'counted', 'loss', 'pull', 'plan', 'reveal', 'give-up'),
  ml: fc.integer({ min: 0, max: 30_000 }).map((tenths) => tenths / 10),
});

test('volumes never go wrong by a sequence of pulls, pours, corrections and cancelled sessions', () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 20_000 }), fc.array(step, { maxLength: 40 }), (filled, steps) => {
      const entries: LiquidEntry[] = [entry('filled', filled, 0)];
      const planned: number[] = [];
      let tenths = filled * 10;
      for (const [hour, { kind, ml }] of steps.entries()) {
        const note = (noted: LiquidEntry['kind'], amount: number): void =>
          void entries.push(entry(noted, amount, hour + 1));
        if (kind === 'plan') planned.push(ml);
        else if (kind === 'give-up') planned.pop();
        else if (kind === 'reveal') {
          // What was poured may be less than what was held back.
          const held = planned.shift();
          if (held === undefined) continue;
          const poured = Math.min(held, ml);
          note('poured', poured);
          tenths -= Math.round(poured * 10);
        } else {
          note(kind, ml);
          const amount = Math.round(ml * 10);
          tenths = kind === 'counted' ? amount : kind === 'added' ? tenths + amount : tenths - amount;
        }
      }
      const reservedMl = planned.reduce((sum, ml) => sum + ml, 0);
      const ledger = liquidLedger(
        entries.toSorted(() => -1),
        { reservedMl, vesselMl: 20_000 },
      );
      expect(ledger.leftMl).toBeCloseTo(tenths / 10, 6);
      expect(ledger.lines).toHaveLength(entries.length);
      expect(Number.isFinite(ledger.leftMl)).toBe(true);
      expect(freeMl(ledger)).toBe(Math.max(0, ledger.leftMl - reservedMl));
      expect(ledger.headspaceMl).toBeGreaterThanOrEqual(0);
      expect(ledger.headspaceMl).toBeLessThanOrEqual(20_000);
    }),
  );
});
