import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { abvFromGravity } from '@oddglass/shared/fermentation/alcohol.ts';
import {
  brixFromGravity,
  finalGravityByRefractometer,
  gravityFromBrix,
  gravityFromPlato,
  platoFromGravity,
} from '@oddglass/shared/fermentation/gravity.ts';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { named, referenceCase } from '../stats/reference-case.ts';
import { expectRelative, expectWithin } from '../stats/within.ts';

describe('degrees Plato', () => {
  const plato = referenceCase<{ sg: number[]; plato: number[] }, { plato: number[]; sg: number[] }>(
    'sg-plato',
  );
  it(named(plato), () => {
    plato.input.sg.forEach((gravity, at) => {
      // The case has the bare cubic, -0.003 at 1.000, and asks to clamp it to 0.
      const wanted = Math.max(0, plato.expected.plato[at] ?? NaN);
      expectWithin(platoFromGravity({ gravity }).plato, wanted, plato.tolerance);
    });
    plato.input.plato.forEach((value, at) => {
      expectWithin(gravityFromPlato({ plato: value }).gravity, plato.expected.sg[at] ?? NaN, plato.tolerance);
    });
  });

  it('there and back is within 0.05 P from 0 to 25 P, and both rise', () => {
    let before = 0;
    for (let value = 0; value <= 25; value += 0.05) {
      const { gravity, withinRange } = gravityFromPlato({ plato: value });
      expect(withinRange).toBe(true);
      expect(gravity).toBeGreaterThan(before);
      expectWithin(platoFromGravity({ gravity }).plato, value, 0.05);
      before = gravity;
    }
  });

  it('flags what lies outside and refuses what cannot be', () => {
    expect(platoFromGravity({ gravity: 0.998 })).toMatchObject({ plato: 0, withinRange: false });
    expect(platoFromGravity({ gravity: 1.131 }).withinRange).toBe(false);
    expect(gravityFromPlato({ plato: 31 }).withinRange).toBe(false);
    for (const gravity of [0.89, 1.21, 48, NaN]) {
      expect(() => platoFromGravity({ gravity })).toThrowError(expect.objectContaining({ field: 'gravity' }));
    }
    for (const value of [-0.1, 40.1, Infinity]) {
      expect(() => gravityFromPlato({ plato: value })).toThrowError(
        expect.objectContaining({ field: 'plato' }),
      );
    }
  });
});

describe('degrees Brix', () => {
  const brix = referenceCase<{ brix: number[] }, { sg_20_20: number[] }>('brix-sg-aoac');
  it(named(brix), () => {
    brix.input.brix.forEach((value, at) => {
      const ours = gravityFromBrix({ brix: value });
      expectWithin(ours.gravity, brix.expected.sg_20_20[at] ?? NaN, brix.tolerance);
      expect(ours.withinRange).toBe(value <= 30);
    });
  });

  it.each([
    [10, 1.04],
    [12, 1.0484],
    [15, 1.0611],
    [20, 1.083],
  ])('%d Brix is %d in the AOAC table (four decimals, from memory)', (value, gravity) => {
    expectWithin(gravityFromBrix({ brix: value }).gravity, gravity, 0.00015);
  });

  it('SG to Brix agrees with the cubic of the NBS table (RMS 0.0009 Brix, 0 to 40; from memory)', () => {
    for (let gravity = 1.001; gravity < 1.178; gravity += 0.003) {
      const cubic = ((182.4601 * gravity - 775.6821) * gravity + 1262.7794) * gravity - 669.5622;
      expectWithin(brixFromGravity({ gravity }).brix, cubic, 0.06);
    }
  });

  it('there and back is the same number', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 95, noNaN: true }), (value) => {
        expectWithin(brixFromGravity(gravityFromBrix({ brix: value })).brix, value, 1e-9);
      }),
    );
  });

  it('flags what lies outside and refuses what cannot be', () => {
    expect(brixFromGravity({ gravity: 1.128 }).withinRange).toBe(true);
    expect(brixFromGravity({ gravity: 1.13 }).withinRange).toBe(false);
    for (const gravity of [0.999, 1.52, NaN]) {
      expect(() => brixFromGravity({ gravity })).toThrowError(StatsInputError);
    }
    for (const value of [-1, 96, NaN])
      expect(() => gravityFromBrix({ brix: value })).toThrowError(StatsInputError);
  });
});

describe('refractometer after fermentation', () => {
  const readings = referenceCase<
    { brix_initial: number; brix_final: number; wcf: number }[],
    { fg_new_cubic: number; fg_linear: number }[]
  >('refractometer-alcohol-correction');
  it(named(readings), () => {
    expect(readings.input).toHaveLength(12);
    readings.input.forEach(({ brix_initial: initialBrix, brix_final: finalBrix, wcf: wortFactor }, at) => {
      const wanted = readings.expected[at];
      const read = { initialBrix, finalBrix, wortFactor };
      expectWithin(
        finalGravityByRefractometer(read).gravity,
        wanted?.fg_new_cubic ?? NaN,
        readings.tolerance,
      );
      expectWithin(
        finalGravityByRefractometer({ ...read, formula: 'linear' }).gravity,
        wanted?.fg_linear ?? NaN,
        readings.tolerance,
      );
    });
  });

  it('takes 1.04 for the wort factor where none is given', () => {
    const read = { initialBrix: 15, finalBrix: 7 };
    expect(finalGravityByRefractometer(read)).toEqual(
      finalGravityByRefractometer({ ...read, wortFactor: 1.04 }),
    );
    const { originalGravity, apparentAttenuation, gravity, reliable } = finalGravityByRefractometer(read);
    expect(originalGravity).toBe(gravityFromBrix({ brix: 15 / 1.04 }).gravity);
    expectRelative(apparentAttenuation, 1 - (gravity - 1) / (originalGravity - 1), 1e-12);
    expect(reliable).toBe(true);
  });

  it.each([
    [10, 11, 'the reading rose'],
    [15, 13, 'less than 61 % attenuated'],
    [33, 15, 'outside of 0 to 30 Brix'],
    [0, 0, 'less than 61 % attenuated'],
  ])('%d to %d Brix is flagged: %s', (initialBrix, finalBrix, unreliableBecause) => {
    expect(finalGravityByRefractometer({ initialBrix, finalBrix })).toMatchObject({
      reliable: false,
      unreliableBecause,
    });
  });

  it.each([
    ['initialBrix', { initialBrix: -1 }],
    ['initialBrix', { initialBrix: 41 }],
    ['finalBrix', { finalBrix: NaN }],
    ['wortFactor', { wortFactor: 0 }],
    ['wortFactor', { wortFactor: 1.3 }],
  ])('refuses an impossible %s', (field, bad) => {
    expect(() => finalGravityByRefractometer({ initialBrix: 12, finalBrix: 6, ...bad })).toThrowError(
      expect.objectContaining({ field }),
    );
  });
});

describe('alcohol by volume', () => {
  const simple = referenceCase<{ og: number; fg: number }[], number[]>('abv-simple');
  it(named(simple), () => {
    simple.input.forEach(({ og: originalGravity, fg: finalGravity }, at) => {
      const ours = abvFromGravity({ originalGravity, finalGravity });
      expectWithin(ours.abvPercent, simple.expected[at] ?? NaN, simple.tolerance);
      expect(ours.withinRange).toBe(ours.abvPercent <= 8);
    });
  });

  it('is 0 where nothing fermented, and rises with the drop', () => {
    expect(abvFromGravity({ originalGravity: 1.05, finalGravity: 1.05 }).abvPercent).toBe(0);
    let before = -1;
    for (let finalGravity = 1.06; finalGravity > 0.99; finalGravity -= 0.005) {
      const { abvPercent } = abvFromGravity({ originalGravity: 1.06, finalGravity });
      expect(abvPercent).toBeGreaterThan(before);
      before = abvPercent;
    }
  });

  it.each([
    ['originalGravity', { originalGravity: 0.99 }],
    ['originalGravity', { originalGravity: 1050 }],
    ['finalGravity', { finalGravity: 1.051 }],
    ['finalGravity', { finalGravity: 0.89 }],
    ['finalGravity', { finalGravity: NaN }],
  ])('refuses an impossible %s', (field, bad) => {
    expect(() => abvFromGravity({ originalGravity: 1.05, finalGravity: 1.01, ...bad })).toThrowError(
      expect.objectContaining({ field }),
    );
  });
});
