import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import type { TypedGravity, TypedValues } from '@oddglass/shared/contracts/reading.ts';
import { gravityFromBrix } from '@oddglass/shared/fermentation/gravity.ts';
import { hydrometerGravity } from '@oddglass/shared/fermentation/hydrometer.ts';
import { readingValues } from '@oddglass/shared/fermentation/reading-values.ts';
import { typedNumber } from '@oddglass/shared/fermentation/typed-number.ts';
import { waterDensity } from '@oddglass/shared/fermentation/water-density.ts';
import { expectWithin } from '../stats/within.ts';

const NONE: TypedValues = { ph: null, gravity: null, temperature: null, taken: null };
const gravity = (text: string, change: Partial<TypedGravity> = {}): TypedValues => ({
  ...NONE,
  gravity: {
    text,
    unit: 'sg',
    instrument: 'hydrometer',
    sampleC: null,
    calibratedAtC: 20,
    originalBrix: null,
    wortFactor: 1,
    ...change,
  },
});

describe('numbers as people type them', () => {
  it.each([
    ['4,2', 4.2, null],
    ['4.2', 4.2, null],
    ['1.048', 1.048, 1048],
    ['1,048', 1.048, 1048],
    ['1048', 1048, null],
    ['0,998', 0.998, null],
    [',5', 0.5, null],
    ['1\u2009500', 1500, null],
    ['1\u202f500,5', 1500.5, null],
    ['1.234.567', 1_234_567, null],
    ['1.048,5', 1048.5, null],
    ['1,048.5', 1048.5, null],
    ["1'500", 1500, null],
    ['\u22121,2', -1.2, null],
    [' 7 ', 7, null],
  ])('%s is %d', (typed, value, other) => expect(typedNumber(typed)).toEqual({ value, other }));

  it.each(['', ' ', ',', '.', '-', '4,2,1', '1.2,3.4', '1e3', '4 pH', 'NaN', '0x10', '1..2', 'Infinity'])(
    '%s is none',
    (typed) => expect(typedNumber(typed)).toBeNull(),
  );

  test('a decimal comma never makes a number larger, and comma and point say the same', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 99_999 }), fc.integer({ min: 0, max: 9999 }), (whole, part) => {
        const value = Number(`${whole}.${part}`);
        for (const mark of [',', '.']) expect(typedNumber(`${whole}${mark}${part}`)?.value).toBe(value);
      }),
    );
  });

  test('anything at all is read or refused, never thrown', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (typed) => {
        const read = typedNumber(typed);
        if (read) expect(Number.isFinite(read.value)).toBe(true);
      }),
    );
  });
});

describe('density of water', () => {
  // Tanaka et al. 2001, Metrologia 38:301 (the CIPM formula; as reproduced in public code): another fit to other data.
  const tanaka = (t: number): number =>
    999.97495 * (1 - ((t - 3.983035) ** 2 * (t + 301.797)) / (522_528.9 * (t + 69.34881)));
  it('by Kell 1975 agrees with the CIPM formula within 4 parts in a million, 0 to 40 deg C', () => {
    for (let celsius = 0; celsius <= 40; celsius += 0.5) {
      expect(Math.abs(waterDensity({ celsius }) / tanaka(celsius) - 1)).toBeLessThan(4e-6);
    }
  });
  it.each([
    [0, 0.9998],
    [10, 0.9997],
    [20, 0.9982],
    [25, 0.997],
    [100, 0.9584],
  ])('at %d deg C is %d g/mL (CRC Handbook, four decimals, from memory)', (celsius, table) =>
    expectWithin(waterDensity({ celsius }) / 1000, table, 0.00005),
  );
  it('is refused outside of 0 to 100', () => {
    for (const celsius of [-1, 101, NaN]) expect(() => waterDensity({ celsius })).toThrow('celsius');
  });
});

describe('a hydrometer in a sample that is not at its temperature', () => {
  it('is right at its own temperature, low in warm samples, and the more so the warmer', () => {
    let before = 0;
    for (let sampleC = 0; sampleC <= 60; sampleC += 1) {
      const { gravity: corrected } = hydrometerGravity({ reading: 1.05, sampleC, calibratedAtC: 20 });
      if (sampleC === 20) expect(corrected).toBe(1.05);
      if (sampleC > 8) expect(corrected).toBeGreaterThan(before);
      before = corrected;
    }
  });
  // A public fit for SG hydrometers (in deg F, as reproduced on calculators of the trade): it leaves out the glass.
  const inTrade = (f: number): number =>
    1.00130346 - 0.000134722124 * f + 0.00000204052596 * f ** 2 - 0.00000000232820948 * f ** 3;
  it('agrees with the correction of the trade within 0.0004, 10 to 35 deg C', () => {
    for (const calibratedAtC of [20, 15.6] as const)
      for (let sampleC = 10; sampleC <= 35; sampleC += 1) {
        const f = (celsius: number): number => (celsius * 9) / 5 + 32;
        const trade = (1.05 * inTrade(f(sampleC))) / inTrade(f(calibratedAtC));
        expectWithin(hydrometerGravity({ reading: 1.05, sampleC, calibratedAtC }).gravity, trade, 0.0004);
      }
  });
  it('is flagged far from its temperature', () => {
    const far = (sampleC: number) => hydrometerGravity({ reading: 1.05, sampleC, calibratedAtC: 20 });
    expect([far(35).withinRange, far(36).withinRange]).toEqual([true, false]);
  });
});

describe('what a reading comes to', () => {
  it('16.5 degrees Brix of wort is about SG 1.068 (common practice, no source)', () => {
    const read = readingValues(gravity('16,5', { unit: 'brix', instrument: 'refractometer' }));
    expect(read.values.gravity?.toFixed(3)).toBe('1.068');
    expect(gravityFromBrix({ brix: 16.5 }).gravity).toBe(read.values.gravity);
  });
  it.each([
    // ASBC sucrose table, SG 20/20 of degrees Plato (from memory).
    [5, 1.01968],
    [10, 1.04003],
    [12, 1.04838],
    [15, 1.06111],
    [20, 1.08297],
  ])('%d degrees Plato is SG %d', (plato, table) => {
    const read = readingValues(gravity(String(plato), { unit: 'plato' }));
    expectWithin(read.values.gravity ?? NaN, table, 0.0002);
  });
  it('a refractometer that knows the first reading leaves the alcohol out: 23 to 12 Brix is about 1.020 (Terrill 2011)', () => {
    const how = { unit: 'brix', instrument: 'refractometer', wortFactor: 1.04 } as const;
    expectWithin(
      readingValues(gravity('12', { ...how, originalBrix: 23 })).values.gravity ?? NaN,
      1.0204,
      0.0001,
    );
    expect(readingValues(gravity('12', how)).values.gravity ?? 0).toBeGreaterThan(1.04);
  });
  it('keeps what cannot be converted as null, and goes on below 0 Plato', () => {
    for (const text of ['60', '-9', '1048'])
      expect(readingValues(gravity(text, { unit: 'plato' }))).toMatchObject({
        values: { gravity: null },
        noNumber: [],
      });
    expectWithin(readingValues(gravity('-1,5', { unit: 'plato' })).values.gravity ?? NaN, 0.9942, 0.0001);
    expect(readingValues(gravity('1.05', { sampleC: -5 })).values.gravity).toBeNull();
  });
  it('counts in deg C and mL, and names fields that hold no number', () => {
    const read = readingValues({
      ph: { text: 'low', meterCalibratedOn: '2031-03-04' },
      gravity: null,
      temperature: { text: '68', unit: 'F' },
      taken: { text: '0,25', unit: 'L' },
    });
    expect(read).toEqual({
      values: { ph: null, meterCalibratedOn: null, gravity: null, temperatureC: 20, takenMl: 250 },
      noNumber: ['ph'],
    });
  });
});
