import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { indexVocabulary, searchWords } from '@oddglass/shared/vocabulary/search.ts';
import { expect, test, vi } from 'vitest';

// How much a keystroke costs, counted in comparisons letter by letter, the one dear step: no machine changes the count.

const counted = vi.hoisted(() => ({ comparisons: 0 }));
vi.mock(import('@oddglass/shared/vocabulary/edit-distance.ts'), async (original) => {
  const real = await original();
  return {
    ...real,
    slips: (...args: Parameters<typeof real.slips>) => {
      counted.comparisons += 1;
      return real.slips(...args);
    },
  };
});

test('a keystroke compares few of the texts letter by letter', () => {
  const index = indexVocabulary(BUILT_IN);
  const typing = [
    'wet newspaper',
    'nail varnsih',
    'horse blanket',
    'butterscotch',
    'smells of old sweaty feet',
  ];
  const shares = typing
    .flatMap((text) => Array.from(text, (_, at) => text.slice(0, at + 1)))
    .map((typed) => {
      counted.comparisons = 0;
      searchWords(index, typed);
      const tokens = typed.split(' ').length;
      return counted.comparisons / (tokens * index.tokens.length + 2 * index.terms.length);
    });
  expect(Math.max(...shares)).toBeGreaterThan(0.01);
  expect(Math.max(...shares)).toBeLessThan(0.15);
  expect(shares.reduce((sum, share) => sum + share, 0) / shares.length).toBeLessThan(0.04);
});
