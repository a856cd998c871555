import { expect, test } from 'vitest';
import type { Part, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { tableAllergens } from '@oddglass/shared/rules/allergens.ts';

const arms = [
  { id: 'a', allergens: ['gluten' as const] },
  { id: 'b', allergens: ['sulphites' as const, 'gluten' as const] },
  { id: 'c', allergens: ['egg' as const] },
];
const flight = (...further: SampleInput[]): Part => ({
  kind: 'liking',
  cups: 'own',
  samples: [
    { armId: 'a', role: 'sample', spike: null },
    { armId: 'b', role: 'sample', spike: null },
    ...further,
  ],
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
});
const spiked = (spikeAllergens?: SampleInput['spikeAllergens']): SampleInput => ({
  armId: 'a',
  role: 'spiked',
  spike: 'x',
  ...(spikeAllergens !== undefined && { spikeAllergens }),
});

test('of poured arms and of what is added stand together, each once, in one order', () => {
  expect(tableAllergens([flight()], arms)).toEqual({ allergens: ['gluten', 'sulphites'], unknown: false });
  expect(tableAllergens([flight(spiked(['milk', 'gluten']))], arms)).toEqual({
    allergens: ['gluten', 'milk', 'sulphites'],
    unknown: false,
  });
  expect(tableAllergens([flight(spiked([]))], arms).unknown).toBe(false);
});

test('unknown stays unknown beside what is known, and so does what nobody was asked', () => {
  for (const silent of [spiked(null), spiked()]) {
    expect(tableAllergens([flight(spiked(['milk']), silent)], arms)).toEqual({
      allergens: ['gluten', 'milk', 'sulphites'],
      unknown: true,
    });
  }
});
