import { compareTests } from '@oddglass/shared/planner/compare-tests.ts';
import { assessPlan } from '@oddglass/shared/planner/planner.ts';
import type { PlannedArm, PlannedSettings } from '@oddglass/shared/planner/plan-reading.ts';
import {
  ENDURANCE,
  enduranceOf,
  enduranceWords,
  lateWaits,
  lingeringOf,
  ORDINARY,
  STRONG_ABOVE,
} from '@oddglass/shared/planner/tiring.ts';
import type { DescriptionPart, DifferencePart, Part } from '@oddglass/shared/contracts/part.ts';
import { lingering, sessionSettings, type Lingering } from '@oddglass/shared/contracts/session.ts';
import { describe, expect, test } from 'vitest';

const id = (at: number) => `00000000-0000-4000-8000-00000000000${at}`;
const armsOf = (abv: number | null): PlannedArm[] =>
  ['Cool', 'Warm'].map((name, at) => ({ id: id(at), name, volumeMl: 20_000, abv }));
const triangle: DifferencePart = {
  kind: 'triangle',
  armIds: [id(0), id(1)],
  replicates: 1,
  alpha: 0.05,
  aim: 'difference',
  meaningfulShare: 0.5,
  beta: 0.2,
};
const pair: Part = { ...triangle, kind: 'directional-pair', attribute: 'sour', strongerArmId: null };
const flight = (cups: number): DescriptionPart => ({
  kind: 'description',
  cups: 'own',
  samples: Array.from({ length: cups }, (_, at) => ({
    armId: id(at % 2),
    role: at < 2 ? ('sample' as const) : ('duplicate' as const),
    spike: null,
  })),
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
  words: ['mousy', 'bitter'],
  intensity: false,
});
const settings = (parts: Part[], change: Partial<PlannedSettings> = {}): PlannedSettings => ({
  assessors: 12,
  spareSeats: 0,
  cupMl: 40,
  restSeconds: 90,
  masking: false,
  servingNote: '',
  parts,
  ...change,
});
const saidOf = (
  parts: Part[],
  kinds: Lingering[],
  change: Partial<PlannedSettings> = {},
  abv: number | null = 4,
) => {
  const reading = assessPlan(settings(parts, { lingering: kinds, ...change }), armsOf(abv));
  return [...reading.warnings, ...reading.sayings, ...reading.parts.flatMap(({ warnings }) => warnings)].join(
    '\n',
  );
};

describe('what a palate takes', () => {
  test('is less, and rests are longer, for every drink that lingers, each with what is known of it', () => {
    expect(Object.keys(ENDURANCE)).toEqual(lingering.options);
    for (const one of Object.values(ENDURANCE)) {
      expect(one.flight).toBeLessThan(ORDINARY.flight);
      expect(one.evening).toBeLessThan(ORDINARY.evening);
      expect(one.traySeconds).toBeGreaterThan(ORDINARY.traySeconds);
      expect(one.cupSeconds).toBeGreaterThan(ORDINARY.cupSeconds);
      expect(one.source).toMatch(/common practice, no source/);
    }
    expect(ENDURANCE.bitter.source).toContain('Journal of the ASBC 44:28');
    expect(ENDURANCE.smoky.source).toContain('60:2629');
  });

  test('of drinks that are several of these is the tightest of each', () => {
    expect(enduranceOf([])).toEqual(ORDINARY);
    expect(enduranceOf(['sour', 'smoky'])).toMatchObject({
      flight: 4,
      evening: 6,
      traySeconds: 180,
      cupSeconds: 90,
    });
    expect(enduranceWords(['sour', 'smoky'])).toMatch(
      /^For sour and smoky drinks the bounds are 4 cups a flight and 6 an evening, 180 s between trays and 90 s between cups\. Acid.*Parker.*\.$/,
    );
    expect(enduranceWords([])).toBeNull();
  });

  test('of strong drinks is asked for by their alcohol, that of spiked cups too', () => {
    const kinds = (abv: number | null, said: Lingering[] = [], parts: Part[] = [triangle]) =>
      lingeringOf({ parts, lingering: said }, armsOf(abv));
    expect([kinds(STRONG_ABOVE), kinds(STRONG_ABOVE + 0.1), kinds(null)]).toEqual([[], ['strong'], []]);
    expect(kinds(9, ['smoky', 'sour'])).toEqual(['sour', 'smoky', 'strong']);
    expect(kinds(null, ['strong'])).toEqual(['strong']);
    expect(lingeringOf({ parts: [triangle] }, armsOf(4))).toEqual([]);
    const spiked = {
      armId: id(0),
      role: 'spiked' as const,
      spike: 'spirit',
      spikeAbv: 9,
      spikeAllergens: [],
    };
    expect(kinds(4, [], [{ ...flight(2), samples: [...flight(2).samples, spiked] }])).toEqual(['strong']);
  });
});

describe('a plan', () => {
  test('warns of cups and rests by the drink', () => {
    const nine = [{ ...triangle, replicates: 3 }];
    expect(saidOf(nine, [])).not.toMatch(/tire|of rest/);
    expect(saidOf(nine, ['sour'])).toMatch(
      /90 s of rest between trays are few.*For sour drinks give 120 s or more/,
    );
    expect(saidOf(nine, ['sour'])).not.toMatch(/tire a palate/);
    expect(saidOf(nine, ['smoky'], { restSeconds: 180 })).toMatch(
      /9 cups each in one evening tire a palate: of smoky drinks 6 or fewer are usual\./,
    );
    expect(saidOf(nine, ['smoky'], { restSeconds: 180 })).not.toMatch(/of rest between trays are few/);
    expect(saidOf(nine, [], { restSeconds: 180 }, 9)).toMatch(/of strong drinks 6 or fewer/);
    expect(saidOf([{ ...triangle, replicates: 4 }, triangle], [])).toMatch(
      /15 cups each in one evening tire a palate: 12 or fewer are usual, and fewer for sour, bitter, smoky or strong drinks\./,
    );
  });

  test('warns of a flight by the drink, and of cups that nothing keeps apart', () => {
    expect(saidOf([flight(6)], [])).not.toMatch(/in one flight|goes on into/);
    expect(saidOf([flight(6)], ['bitter'])).not.toMatch(/in one flight/);
    expect(saidOf([flight(6)], ['smoky'])).toMatch(
      /6 cups in one flight tire a palate: serve 4 or fewer of smoky drinks/,
    );
    const waiting = (seconds: number): Part => ({ ...flight(4), late: { words: ['bitter'], seconds } });
    expect(saidOf([flight(4)], ['bitter'])).toMatch(
      /nothing makes people wait between the cups of a flight: have them wait 60 s/,
    );
    expect(saidOf([waiting(30)], ['bitter'])).toMatch(
      /the tablet makes people wait 30 s only between the cups/,
    );
    expect(saidOf([waiting(60)], ['bitter'])).not.toMatch(/between the cups of a flight/);
  });

  test('advises against holding three cups of what carries over against each other', () => {
    expect(saidOf([triangle], ['sour'])).toMatch(/ISO 4120 limits triangles.*a directional pair needs two/);
    expect(saidOf([pair], ['sour'])).not.toMatch(/ISO 4120 limits/);
    expect(saidOf([triangle], [])).not.toMatch(/ISO 4120 limits/);
  });

  test('names only tests that the drink allows', () => {
    const most = (kinds: Lingering[]) => {
      const found = compareTests(
        settings([triangle], { assessors: 60, lingering: kinds }),
        triangle,
        armsOf(4),
      );
      return Math.max(...(found?.best ?? []).map(({ cupsEach }) => cupsEach));
    };
    expect([most([]), most(['sour']), most(['smoky'])]).toEqual([9, 9, 6]);
  });

  test('says how long late questions make people wait', () => {
    const late = { words: ['mousy'], seconds: 60 };
    expect(lateWaits([triangle])).toBeNull();
    expect(lateWaits([{ ...flight(4), late }])).toContain('takes each assessor 4 minutes in all');
    expect(lateWaits([{ ...flight(4), late, replicates: 2 }])).toContain('8 minutes');
    const borrowed: Part = { ...flight(0), cups: 'before', late };
    expect(lateWaits([{ ...triangle, replicates: 2 }, borrowed])).toContain('6 minutes');
    expect(lateWaits([{ ...flight(2), late: { ...late, seconds: 30 } }])).toContain('1 minute in all');
  });

  test('counts a late question among the tests that share alpha', () => {
    // Two samples, ten people: the smallest p is 2^-9; half of alpha holds 12 words, a third 8.
    const words = Array.from({ length: 10 }, (_, at) => `word-${at}`);
    const plain = { ...flight(2), words };
    const late = { ...plain, late: { words: words.slice(0, 1), seconds: 60 } };
    expect(saidOf([plain], [], { assessors: 10 })).not.toMatch(/no single word can be shown/);
    expect(saidOf([late], [], { assessors: 10 })).toMatch(/no single word can be shown.*offer 8 or fewer/);
  });

  test('holds what lingers once each, and sessions of before say nothing of it', () => {
    const whole = { title: 'An evening', ...settings([triangle]) };
    expect(sessionSettings.safeParse(whole).data?.lingering).toBeUndefined();
    expect(sessionSettings.safeParse({ ...whole, lingering: ['sour', 'sour'] }).success).toBe(false);
    expect(sessionSettings.safeParse({ ...whole, lingering: ['salty'] }).success).toBe(false);
    expect(sessionSettings.safeParse({ ...whole, lingering: ['sour'] }).success).toBe(true);
  });
});
