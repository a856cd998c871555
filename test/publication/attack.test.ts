import { describe, expect, test } from 'vitest';
import { PROTECTIONS, type Protection, type Protections } from '@oddglass/shared/publication/disclosure.ts';
import { upperTail } from '@oddglass/shared/stats/binomial.ts';
import {
  byComment,
  byCups,
  byDifference,
  byDifferenceOfCounts,
  byHabit,
  byLabelAcross,
  byOrder,
  bySeating,
  byTray,
  byWord,
  type Found,
} from '../support/attack-attacks.ts';
import {
  byDay,
  byEverything,
  byGlance,
  byLeaving,
  byOwnAnswer,
  byPlace,
  byTable,
} from '../support/attack-tables.ts';
import {
  leftWorld,
  placeWorld,
  refusedWorld,
  smallWorld,
  tableWorld,
  twoEvenings,
  world,
} from '../support/attack-world.ts';

// An attendee knows who sat where, has photographed the trays of two people, knows what each is used to say, and holds
// every published file: three versions of a trial and a second trial with the same people. Every panel is simulated with a
// fixed seed, so that a run is the same each time.
//
// Beyond chance: as many right claims or more would come by guessing less than once in a thousand times (binomial, with
// the mean chance of the claims). The bound is our own; no source.
const BEYOND = 1e-3;
const PANELS = 10;
const EVENINGS = 20;
const SMALL = 40;
const TABLES = 700;
const PLACES = 120;

function over(count: number, attack: (number: number) => Found): Found {
  const all = { claims: 0, right: 0, expected: 0 };
  for (let number = 0; number < count; number += 1) {
    const { claims, right, expected } = attack(number);
    all.claims += claims;
    all.right += right;
    all.expected += expected;
  }
  return all;
}

function chanceOf({ claims, right, expected }: Found): number {
  return claims === 0 ? 1 : upperTail(right, claims, Math.min(1, expected / claims));
}

const said = ({ claims, right, expected }: Found): string =>
  `${right} of ${claims} right, by guessing ${expected.toFixed(1)}`;

/** Every attack, and the panels on which it is tried. */
const ATTACKS = {
  order: (on: Protections) => over(PANELS, (number) => byOrder(world(number, on))),
  tray: (on: Protections) => over(PANELS, (number) => byTray(world(number, on))),
  cups: (on: Protections) => over(PANELS, (number) => byCups(world(number, on))),
  label: (on: Protections) => over(PANELS, (number) => byLabelAcross(world(number, on))),
  word: (on: Protections) => over(PANELS, (number) => byWord(world(number, on))),
  difference: (on: Protections) => over(PANELS, (number) => byDifference(world(number, on))),
  'difference of counts': (on: Protections) =>
    over(PANELS, (number) => byDifferenceOfCounts(world(number, on))),
  seating: (on: Protections) => over(PANELS, (number) => bySeating(world(number, on))),
  comment: (on: Protections) => over(PANELS, (number) => byComment(world(number, on))),
  day: (on: Protections) => over(EVENINGS, (number) => byDay(twoEvenings(number, on))),
  glance: (on: Protections) => over(PANELS, (number) => byGlance(refusedWorld(number, on))),
  leaving: (on: Protections) => over(EVENINGS, (number) => byLeaving(leftWorld(number, on))),
  'own answer': (on: Protections) => over(SMALL, (number) => byOwnAnswer(smallWorld(number, on))),
  table: (on: Protections) => over(TABLES, (number) => byTable(tableWorld(number, on))),
  'everything told': (on: Protections) => over(TABLES, (number) => byEverything(tableWorld(number, on))),
  place: (on: Protections) => over(PLACES, (number) => byPlace(placeWorld(number, on))),
} satisfies Record<string, (on: Protections) => Found>;
type AttackName = keyof typeof ATTACKS;

const withAllOn = new Map<AttackName, Found>();
/** An attack with every protection on; a fixed seed finds the same each time. */
function foundBy(name: AttackName): Found {
  const found = withAllOn.get(name) ?? ATTACKS[name](PROTECTIONS);
  withAllOn.set(name, found);
  return found;
}

/** The attack that each protection is there against. */
const AGAINST: Record<Protection, AttackName> = {
  freshPseudonyms: 'label',
  shuffledRows: 'order',
  coarseTimes: 'day',
  panelTiers: 'own answer',
  rowsByConsent: 'glance',
  noPlacesInRows: 'tray',
  unlinkedCups: 'cups',
  labelsByPart: 'leaving',
  smallGroups: 'table',
  complementary: 'table',
  rareWords: 'word',
  freeTextOff: 'comment',
  closedSeating: 'seating',
  batchedWithdrawals: 'difference',
};

describe('an attendee with everything that was published', () => {
  test.each(Object.keys(ATTACKS) as AttackName[])('finds nobody by %s', (name) => {
    const found = foundBy(name);
    console.info(`all on, ${name}: ${said(found)}`);
    expect(chanceOf(found), said(found)).toBeGreaterThanOrEqual(BEYOND);
  });

  test.each(Object.entries(AGAINST) as [Protection, AttackName][])(
    'finds people without %s, by %s',
    (protection, name) => {
      const found = ATTACKS[name]({ ...PROTECTIONS, [protection]: false });
      console.info(`${protection} off, ${name}: ${said(found)}`);
      expect(chanceOf(found), said(found)).toBeLessThan(BEYOND);
    },
  );

  // These attacks reckon, and say nothing unless there is no other way it can have been: one claim would be a leak.
  test.each<AttackName>(['table', 'everything told', 'place', 'difference of counts', 'own answer'])(
    'can reckon nothing of anybody by %s',
    (name) => {
      expect(foundBy(name).claims).toBe(0);
    },
  );

  test('could reckon by places too, if small groups were told', () => {
    const found = ATTACKS.place({ ...PROTECTIONS, smallGroups: false });
    console.info(`smallGroups off, place: ${said(found)}`);
    expect(found.right).toBe(found.claims);
    expect(found.claims).toBeGreaterThan(0);
  });

  test('could reckon by all tables together too, if no more were withheld for the sake of others', () => {
    const found = ATTACKS['everything told']({ ...PROTECTIONS, complementary: false });
    console.info(`complementary off, everything told: ${said(found)}`);
    expect(found.right).toBe(found.claims);
    expect(found.claims).toBeGreaterThan(0);
  });

  test('tries every protection', () => {
    expect(Object.keys(AGAINST).sort()).toEqual(Object.keys(PROTECTIONS).sort());
  });
});

describe('what remains', () => {
  // Rows that can be reckoned with keep the height and spread of somebody's marks. Rows of one trial can so be joined to
  // rows of another better than by chance; neither carries a name, and the page says that habits may be recognised.
  test('habits of marking join rows of two trials, without a name', () => {
    const found = over(PANELS, (number) => byHabit(world(number, PROTECTIONS)));
    console.info(`all on, habits: ${said(found)}`);
    expect(chanceOf(found), said(found)).toBeLessThan(BEYOND);
    for (let number = 0; number < PANELS; number += 1) {
      const { versions } = world(number, PROTECTIONS);
      expect(
        versions.some(({ disclosure }) =>
          disclosure.some((line) => line.includes('how that person always marks')),
        ),
      ).toBe(true);
    }
  });
});
