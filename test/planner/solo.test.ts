import { fastRandom } from '@oddglass/shared/ground/fast-random.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { DIFFERENCES } from '@oddglass/shared/kinds/kinds.ts';
import { offerSolo, readSolo, SOLO_METHODS, soloLines } from '@oddglass/shared/planner/solo.ts';
import { countSolo, soloPour, soloStepOf } from '@oddglass/shared/rules/solo.ts';
import { criticalNumber } from '@oddglass/shared/stats/discrimination/critical-number.ts';
import { powerOfDifference } from '@oddglass/shared/stats/discrimination/power.ts';
import { sequentialOperating } from '@oddglass/shared/stats/discrimination/sequential.ts';
import { describe, expect, test } from 'vitest';
import { alone, ARM_A, ARM_B, planOf, rated, shuffledCups, stateOf } from '../support/solo.ts';

const ARMS = [
  { id: ARM_A, name: '18 °C', volumeMl: 2000, abv: 4.8 },
  { id: ARM_B, name: '22 °C', volumeMl: 300, abv: 5 },
];
const SERIES = 4000;

/** Somebody who tastes nothing and always takes the place liked best, over whole series, as hand, rules and lines play them. */
function guesser(settings: ReturnType<typeof alone>, series: number, seed: number) {
  const random = seededRandom(new Uint8Array(32).fill(seed));
  const quick = fastRandom(random);
  const { places } = DIFFERENCES[settings.kind];
  // Draws of hands from a fast source: each order as likely.
  const bytes = { bytes: (count: number) => Uint8Array.from({ length: count }, () => quick(256)) };
  const plan = planOf(settings, random);
  let claims = 0;
  let trays = 0;
  for (let one = 0; one < series; one++) {
    const done: Parameters<typeof stateOf>[2][number][] = [];
    const favourite = places[one % places.length]!;
    for (;;) {
      const step = soloStepOf(stateOf(settings, plan, done));
      if (step.at === 'over') break;
      if (step.at === 'tray') {
        const codes = (plan.trays[step.tray - 1]?.codes ?? []).filter((code) => code !== null);
        done.push({ answer: { kind: 'choice', codes: favourite.cups.map((at) => codes[at] ?? '') } });
        trays += 1;
      } else if (step.at === 'stood') {
        done[step.tray - 1] = {
          ...done[step.tray - 1],
          stood: { armIds: shuffledCups(settings, bytes), asPlanned: true },
        };
      }
    }
    const { counted, found, state } = countSolo(stateOf(settings, plan, done));
    const { guessRate } = DIFFERENCES[settings.kind].test;
    const needed = criticalNumber({ n: counted, alpha: settings.alpha, guessRate });
    const claimed = plan.lines ? state === 'difference' : needed !== null && found >= needed;
    claims += claimed ? 1 : 0;
  }
  return { share: claims / series, trays: trays / series };
}

/** Five standard deviations of a share of so many series. */
const within = (share: number, series: number): number => 5 * Math.sqrt((share * (1 - share)) / series);

describe('a guesser stays at alpha', () => {
  test.each(SOLO_METHODS)('%s, all answers first: at the exact size of its test', (kind) => {
    const settings = alone({ kind, trays: 9, alpha: 0.1 });
    const { size } = powerOfDifference({
      n: 9,
      alpha: 0.1,
      pd: 0.5,
      guessRate: DIFFERENCES[kind].test.guessRate,
    });
    expect(size).toBeLessThanOrEqual(0.1);
    const { share } = guesser(settings, SERIES / 2, 11);
    expect(Math.abs(share - size)).toBeLessThan(within(size, SERIES / 2));
  });

  test.each(SOLO_METHODS)('%s, by lines: at the exact operating characteristic', (kind) => {
    const settings = alone({ kind, trays: 16, alpha: 0.1, stopping: 'by-lines', dPrime: 2 });
    const plan = soloLines(settings);
    const exact = sequentialOperating({ plan, pd: 0, mostAnswers: 16 });
    expect(exact.difference).toBeLessThanOrEqual(0.1);
    const { share, trays } = guesser(settings, SERIES, 13);
    expect(Math.abs(share - exact.difference)).toBeLessThan(within(exact.difference, SERIES));
    // No series is longer than 16 trays, so that the mean of trays has a standard deviation of 8 at most.
    expect(Math.abs(trays - exact.expected)).toBeLessThan((5 * 8) / Math.sqrt(SERIES));
  });

  test('the lines never take more than alpha, over plans of all sorts', () => {
    let lowered = 0;
    for (const kind of SOLO_METHODS)
      for (const alpha of [0.01, 0.05, 0.1, 0.2])
        for (const beta of [0.05, 0.2, 0.5])
          for (const dPrime of [0.5, 1, 1.5, 2.5, 4])
            for (const trays of [1, 5, 12, 30]) {
              const plan = soloLines({ kind, alpha, beta, dPrime, trays });
              if (plan.alpha < alpha) lowered += 1;
              const { difference } = sequentialOperating({ plan, pd: 0, mostAnswers: trays });
              expect(difference).toBeLessThanOrEqual(alpha);
            }
    // Wald's lines alone would not do: some had to be drawn for a smaller alpha.
    expect(lowered).toBeGreaterThan(0);
  });
});

test('a plan tells its number, its power and its liquid before it is sealed', () => {
  // ISO 4120, table of significant numbers: 8 of 12 triangles at 5 %.
  const reading = readSolo(alone(), ARMS);
  expect(reading.says[0]).toBe('Eight of twelve trays have to be named as they stood.');
  expect(reading.liquid.map(({ needMl, enough }) => [needMl, enough])).toEqual([
    [480, true],
    [480, false],
  ]);
  // A smaller size than the one found with 80 % is said to be too small for these cups.
  expect(reading.says[2]).toMatch(/^80 % is reached for a difference of d-prime \d(\.\d)? and larger\.$/);
  const size = Number(/d-prime (\S+) and/.exec(reading.says[2] ?? '')?.[1]);
  expect(readSolo(alone({ dPrime: size }), ARMS).power).toBeGreaterThanOrEqual(0.8);
  expect(readSolo(alone({ dPrime: size - 0.1 }), ARMS).power).toBeLessThan(0.8);
  expect(reading.cups).toBe(36);
  // 36 cups of 20 mL at 5 % by volume, 0.789 g/mL.
  expect(reading.ethanolGrams).toBeCloseTo(36 * 20 * 0.05 * 0.789, 10);
  expect(reading.says.at(-1)).toContain('three evenings');
  expect(readSolo(alone({ trays: 1 }), ARMS).says[0]).toContain('plan more');
});

test('with lines the expected number of trays is told, and what it costs', () => {
  const { expected, says, power } = readSolo(alone({ stopping: 'by-lines', trays: 30, dPrime: 2.5 }), ARMS);
  expect(expected?.without).toBeGreaterThan(3);
  expect(expected?.without).toBeLessThan(30);
  expect(expected?.largest).toBeGreaterThanOrEqual(Math.max(expected?.with ?? 0, expected?.without ?? 0));
  expect(power).toBeGreaterThan(0.5);
  expect(says.join(' ')).toContain('you learn as you go');
});

test('a rating says how small p can become', () => {
  // Two arms, six trays: 2 of 64 orders are as far out as the farthest.
  expect(readSolo(rated(), ARMS).says[0]).toContain('p cannot come below 0.031');
  expect(readSolo(rated({ trays: 3 }), ARMS).says[0]).toContain('plan more');
});

test('the method with most power for the cups at hand is proposed', () => {
  const offers = offerSolo({ cupsEach: 24, alpha: 0.05, dPrime: 1.5 });
  expect(offers.map(({ kind }) => kind).toSorted()).toEqual([...SOLO_METHODS].sort());
  const powers = offers.map(({ power }) => power);
  expect(powers).toEqual(powers.toSorted((a, b) => b - a));
  for (const { kind, trays, cups } of offers) {
    const { each, tasted } = soloPour({ kind, armIds: [] });
    expect(trays).toBe(24 / each);
    expect(cups).toBe(trays * tasted);
  }
  expect(offerSolo({ cupsEach: 1, alpha: 0.05, dPrime: 1.5 }).every(({ power }) => power === 0)).toBe(true);
});
