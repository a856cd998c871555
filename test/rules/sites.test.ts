import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { sessionInput, sessionSettings } from '@oddglass/shared/contracts/session.ts';
import { emptyBoard } from '@oddglass/shared/rules/board.ts';
import { groupsOf, isSpareSeat, seatsOfSite, siteOfSeat, sitesOf } from '@oddglass/shared/rules/sites.ts';

const ARMS = ['00000000-0000-4000-8000-00000000000a', '00000000-0000-4000-8000-00000000000b'];
const PARTS = [
  {
    kind: 'triangle',
    armIds: ARMS,
    replicates: 1,
    alpha: 0.05,
    aim: 'difference',
    meaningfulShare: 0.5,
    beta: 0.2,
  },
];
const NORTH = { name: 'North', assessors: 4, spareSeats: 1 };
const SOUTH = { name: 'South', assessors: 3, spareSeats: 0 };
const whole = (change: object = {}) => ({
  title: 'Two tables',
  assessors: 7,
  spareSeats: 1,
  cupMl: 30,
  restSeconds: 0,
  masking: false,
  servingNote: '',
  parts: PARTS,
  sites: [NORTH, SOUTH],
  ...change,
});
const said = (change: object) =>
  sessionInput
    .safeParse(whole(change))
    .error?.issues.map(({ path, message }) => `${path.join('/')}: ${message}`);

describe('several places', () => {
  test('number their seats through, spare ones at the end of each run', () => {
    const settings = sessionSettings.parse(whole());
    expect(sitesOf(settings)).toEqual([
      { site: 1, name: 'North', first: 1, last: 5, assessors: 4 },
      { site: 2, name: 'South', first: 6, last: 8, assessors: 3 },
    ]);
    expect([0, 1, 5, 6, 8, 9].map((seat) => siteOfSeat(settings, seat))).toEqual([null, 1, 1, 2, 2, null]);
    expect(seatsOfSite(settings, 2)).toEqual([6, 7, 8]);
    expect(seatsOfSite(settings, 3)).toEqual([]);
    expect(
      Array.from({ length: 8 }, (_, at) => at + 1).filter((seat) => isSpareSeat(settings, seat)),
    ).toEqual([5]);
    expect(groupsOf(settings, { spare: true })).toEqual([5, 3]);
    expect(groupsOf(settings, { spare: false })).toEqual([4, 3]);
    expect(
      emptyBoard(settings)
        .seats.filter(({ spare }) => spare)
        .map(({ number }) => number),
    ).toEqual([5]);
  });

  test('are one place where nothing is said of them', () => {
    const { sites: _, ...one } = whole();
    const settings = sessionSettings.parse(one);
    expect(settings).not.toHaveProperty('sites');
    expect(sitesOf(settings)).toEqual([]);
    expect(siteOfSeat(settings, 1)).toBeNull();
    expect(seatsOfSite(settings, null)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect([7, 8].map((seat) => isSpareSeat(settings, seat))).toEqual([false, true]);
    expect(groupsOf(settings, { spare: true })).toEqual([8]);
  });

  test('give each seat to one place, whatever their sizes', () => {
    const place = fc.record({
      assessors: fc.integer({ min: 1, max: 9 }),
      spareSeats: fc.integer({ min: 0, max: 4 }),
    });
    fc.assert(
      fc.property(fc.array(place, { minLength: 2, maxLength: 8 }), (sizes) => {
        const sites = sizes.map((one, at) => ({ name: `Place ${at}`, ...one }));
        const sum = (of: (one: (typeof sizes)[number]) => number) =>
          sizes.reduce((all, one) => all + of(one), 0);
        const settings = {
          assessors: sum((one) => one.assessors),
          spareSeats: sum((one) => one.spareSeats),
          sites,
        };
        const seats = sites.flatMap((_, at) => seatsOfSite(settings, at + 1));
        expect(seats).toEqual(seatsOfSite(settings, null));
        for (const [at, { assessors, spareSeats }] of sizes.entries()) {
          const own = seatsOfSite(settings, at + 1);
          expect(own.map((seat) => siteOfSeat(settings, seat))).toEqual(own.map(() => at + 1));
          expect(own.map((seat) => isSpareSeat(settings, seat))).toEqual([
            ...Array.from({ length: assessors }, () => false),
            ...Array.from({ length: spareSeats }, () => true),
          ]);
        }
      }),
    );
  });

  test('are refused where their people do not add up, where two have one name, and where there is one', () => {
    expect(said({})).toBeUndefined();
    expect(said({ assessors: 8 })).toEqual(['assessors: The places expect 7 assessors together.']);
    expect(said({ spareSeats: 0 })).toEqual(['spareSeats: The places have 1 spare seats together.']);
    expect(said({ sites: [NORTH, { ...SOUTH, name: 'north' }] })).toEqual([
      'sites/1/name: Another place has this name.',
    ]);
    expect(said({ sites: [NORTH] })?.[0]).toBe('sites: Several places are at least two.');
    expect(said({ sites: [NORTH, { ...SOUTH, name: 'So\u200buth' }] })?.[0]).toContain('sites/1/name');
  });
});
