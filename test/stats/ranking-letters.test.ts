import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StatsInputError } from '@oddglass/shared/ground/input.ts';
import { sharedLetters } from '@oddglass/shared/stats/ranking/shared-letters.ts';

const lettersOf = (text: string): string[] => text.match(/[a-z]\d*/g) ?? [];

describe('letters of samples', () => {
  it('0 differs from 2 and 3, 1 from 3: a, ab, bc, c (by hand)', () => {
    const different = [
      [0, 2],
      [0, 3],
      [1, 3],
    ] as const;
    expect(sharedLetters({ samples: 4, different })).toEqual(['a', 'ab', 'bc', 'c']);
    expect(sharedLetters({ samples: 4, different, order: [3, 2, 1, 0] })).toEqual(['c', 'bc', 'ab', 'a']);
  });

  it('one letter when nothing differs, one each when all do', () => {
    expect(sharedLetters({ samples: 3, different: [] })).toEqual(['a', 'a', 'a']);
    expect(sharedLetters({ samples: 1, different: [] })).toEqual(['a']);
    const all = [
      [0, 1],
      [2, 0],
      [1, 2],
    ] as const;
    expect(sharedLetters({ samples: 3, different: all, order: [1, 0, 2] })).toEqual(['b', 'a', 'c']);
  });

  it('two samples share a letter just when they were not found to differ, and no letter is idle', () => {
    const pairs = fc.integer({ min: 2, max: 7 }).chain((samples) => {
      const all = Array.from({ length: samples }, (_, i) => i);
      const every = all.flatMap((i) => all.filter((j) => j > i).map((j): [number, number] => [i, j]));
      return fc.record({
        samples: fc.constant(samples),
        different: fc.shuffledSubarray(every),
        order: fc.shuffledSubarray(all, { minLength: samples }),
      });
    });
    fc.assert(
      fc.property(pairs, ({ samples, different, order }) => {
        const letters = sharedLetters({ samples, different, order }).map(lettersOf);
        const groups = new Map<string, string>();
        letters.forEach((list, sample) =>
          list.forEach((one) => groups.set(one, `${groups.get(one) ?? ''}${sample}`)),
        );
        expect(new Set(groups.values()).size).toBe(groups.size);
        for (let i = 0; i < samples; i += 1) {
          for (let j = i + 1; j < samples; j += 1) {
            const share = (letters[i] ?? []).some((one) => letters[j]?.includes(one));
            expect(share).toBe(!different.some(([a, b]) => a === i && b === j));
          }
        }
        expect(letters[order[0] ?? NaN]?.[0]).toBe('a');
      }),
    );
  });

  it('refuses a sample that is not there, one against itself and an order with a gap', () => {
    for (const input of [
      { samples: 2, different: [[0, 2]] },
      { samples: 2, different: [[1, 1]] },
      { samples: 2, different: [], order: [0] },
      { samples: 2, different: [], order: [0, 0] },
      { samples: 0, different: [] },
    ] as { samples: number; different: [number, number][]; order?: number[] }[]) {
      expect(() => sharedLetters(input)).toThrowError(StatsInputError);
    }
  });
});
