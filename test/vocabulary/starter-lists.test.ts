import { expect, test } from 'vitest';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { STARTER_LISTS } from '@oddglass/shared/vocabulary/starter-lists.ts';

test.each(STARTER_LISTS.map((list) => [list.name, list.words] as const))(
  '%s starts with 15 to 30 words of the vocabulary, each once',
  (_name, words) => {
    const known = new Set(BUILT_IN.words.map(({ id }) => id));
    expect(words.filter((id) => !known.has(id))).toEqual([]);
    expect(new Set(words).size).toBe(words.length);
    expect(words.length).toBeGreaterThanOrEqual(15);
    expect(words.length).toBeLessThanOrEqual(30);
  },
);
