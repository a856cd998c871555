import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { describe, expect, test } from 'vitest';
import {
  ARMS,
  input,
  ORDERS,
  PARTS,
  rightPlaces,
  tray,
  trays,
  wrongPlaces,
  type PartName,
} from './choice-input.ts';

// What is said of likeness, at the counts where it turns: limit 50 %, or as said, risk of a wrong claim 0.05. Exact binomial
// tails and one-sided Clopper-Pearson limits from SciPy 1.17.1 (stats.binom, stats.beta), by the rule of ISO 4120.

const find = (name: PartName, n: number, right: number, change = {}) => {
  const part = { ...PARTS[name], aim: 'similarity' as const, beta: 0.05, ...change };
  return analyseChoice(input(part, trays(name, n, right))).finding;
};
const confident = (reach: string, who = '') =>
  `If a share always tells and the rest guess, with 95 % confidence the share of discriminators${who} is ${reach}`;

describe('likeness by a triangle', () => {
  test('4 of 12, the most that still show it: as many as guessing gives', () => {
    expect(find('triangle', 12, 4)).toEqual({
      verdict: 'similarity-shown',
      headline: 'Four of twelve found the odd one: alike enough by the limit fixed beforehand.',
      lede: `${confident('at most 41 %')}, below the limit of 50 % (exact p = 0.019, risk of a wrong claim 0.05).`,
    });
  });

  test('5 of 12, one above', () => {
    expect(find('triangle', 12, 5)).toEqual({
      verdict: 'similarity-not-shown',
      headline: 'Five of twelve found the odd one: similarity was not demonstrated.',
      lede: `${confident('at most 53 %')}; the limit fixed beforehand was 50 % (exact p = 0.066, needed 0.05 or less). This does not show that the arms differ.`,
    });
  });

  test('1 of 12 leaves a share below one per cent', () => {
    expect(find('triangle', 12, 1).lede).toMatch(
      /^If .* discriminators is less than 1 %, below the limit of 50 %/,
    );
  });

  test('18 of 36 are alike enough, and differ all the same', () => {
    expect(find('triangle', 36, 18)).toEqual({
      verdict: 'similarity-shown',
      headline:
        '18 of 36 found the odd one: alike enough by the limit fixed beforehand, and yet they differ.',
      lede: `${confident('at most 47 %')}, below the limit of 50 % (exact p = 0.028, risk of a wrong claim 0.05). The arms can be told apart nevertheless: guessing alone gives such answers 28 times in 1,000 (exact one-sided p = 0.028, alpha 0.05).`,
    });
  });

  test('19 of 36 are not, and differ; 17 are, and do not', () => {
    expect(find('triangle', 36, 19)).toEqual({
      verdict: 'similarity-not-shown',
      headline: '19 of 36 found the odd one: similarity was not demonstrated, and they differ.',
      lede: `${confident('at most 51 %')}; the limit fixed beforehand was 50 % (exact p = 0.058, needed 0.05 or less). The arms can be told apart nevertheless: guessing alone gives such answers 12 times in 1,000 (exact one-sided p = 0.012, alpha 0.05).`,
    });
    expect(find('triangle', 36, 17).lede).toMatch(/risk of a wrong claim 0\.05\)\.$/);
  });

  test('a limit below what guessing gives on average: the panel is small for it', () => {
    const limit = { meaningfulShare: 0.3 };
    expect(find('triangle', 12, 3, limit)).toEqual({
      verdict: 'similarity-shown',
      headline: 'Three of twelve found the odd one: alike enough by the limit fixed beforehand.',
      lede: `${confident('at most 29 %')}, below the limit of 30 % (exact p = 0.046, risk of a wrong claim 0.05). The panel is small for this limit: likeness shows only where fewer are right than the 4 that guessing gives on average.`,
    });
    // 6 of 20, of whom guessing gives 6.7.
    expect(find('triangle', 20, 6, limit).lede).toMatch(/fewer are right than the 6\.7 that guessing gives/);
    expect(find('triangle', 12, 4, limit).verdict).toBe('similarity-not-shown');
  });

  test('none of 2 is no likeness: so few people show none', () => {
    expect(find('triangle', 2, 0)).toMatchObject({
      verdict: 'similarity-not-shown',
      headline: 'None of two found the odd one: similarity was not demonstrated.',
    });
  });

  test('fewer right than guessing gives in one panel of a hundred: no likeness, but a reason to look', () => {
    // P(X <= x | 24, 1/3): 0.0049 of 2, 0.0199 of 3.
    expect(find('triangle', 24, 2)).toEqual({
      verdict: 'similarity-not-shown',
      headline: 'Two of 24 found the odd one, fewer than guessing explains: nothing can be said of likeness.',
      lede: 'Guessing alone gives 8 on average and so few only 5 times in 1,000: look for mistakes in labels or serving.',
    });
    expect(find('triangle', 24, 3).verdict).toBe('similarity-shown');
  });

  test('of repeated trays the first of each person counts, and it says so', () => {
    const served = Array.from({ length: 24 }, (_, index) => {
      const order = ORDERS.triangle[index % 6] ?? '';
      const right = index % 2 === 0 && index < 10;
      const chosen = right ? rightPlaces('triangle', order) : wrongPlaces('triangle', order);
      return tray(order, chosen, { assessor: `a${index >> 1}`, replicate: (index % 2) + 1 });
    });
    const part = { ...PARTS.triangle, aim: 'similarity' as const, beta: 0.05, replicates: 2 };
    expect(analyseChoice(input(part, served)).finding.lede).toMatch(
      /^If .*This does not show that the arms differ\. One answer per person counts here: the first tray each answered\.$/,
    );
  });
});

describe('likeness by a pair', () => {
  const warmer = ' who find Warm stronger in “bitter” than Cool';

  test('with a direction: of that direction alone, 24 of 40 are the most', () => {
    expect(find('directional-pair', 40, 24)).toEqual({
      verdict: 'similarity-shown',
      headline: '24 of 40 named Warm as stronger in “bitter”: alike enough by the limit fixed beforehand.',
      lede: `${confident('at most 46 %', warmer)}, below the limit of 50 % (exact p = 0.026, risk of a wrong claim 0.05).`,
    });
    expect(find('directional-pair', 40, 25).verdict).toBe('similarity-not-shown');
    expect(find('directional-pair', 40, 26).lede).toMatch(
      /Warm is perceptibly stronger in “bitter” than Cool nevertheless: guessing alone gives such answers 40 times in 1,000 \(exact one-sided p = 0\.040, alpha 0\.05\)\.$/,
    );
    expect(find('directional-pair', 40, 16, { strongerArmId: ARMS[0] }).lede).toContain(
      ' who find Cool stronger in “bitter” than Warm is at most 46 %',
    );
  });

  test('without a direction: of the arm named more often, whichever it is', () => {
    for (const [count, more] of [
      [24, 'Cool'],
      [16, 'Warm'],
    ] as const) {
      expect(find('open-pair', 40, count)).toEqual({
        verdict: 'similarity-shown',
        headline: `24 of 40 named ${more} as stronger in “bitter”: alike enough by the limit fixed beforehand.`,
        lede: `${confident('at most 46 %', ' in “bitter”')}, below the limit of 50 % (exact p = 0.026, risk of a wrong claim 0.05).`,
      });
    }
  });

  test('without a direction 44 of 70 are alike enough and differ, by the two-sided test', () => {
    const finding = find('open-pair', 70, 26);
    expect(finding.headline).toBe(
      '44 of 70 named Warm as stronger in “bitter”: alike enough by the limit fixed beforehand, and yet they differ.',
    );
    expect(finding.lede).toMatch(
      / Warm is perceptibly stronger in “bitter” than Cool nevertheless: guessing alone gives such answers 41 times in 1,000 \(exact two-sided p = 0\.041, alpha 0\.05\)\.$/,
    );
  });

  test('p at alpha is a difference: all of 5 have p = 2 / 2^5', () => {
    expect(find('open-pair', 5, 5, { alpha: 0.0625 }).headline).toBe(
      'Five of five named Cool as stronger in “bitter”: similarity was not demonstrated, and they differ.',
    );
    expect(find('open-pair', 5, 5, { alpha: 0.0624 }).headline).toBe(
      'Five of five named Cool as stronger in “bitter”: similarity was not demonstrated.',
    );
  });

  test('far fewer than half for the expected arm may be a difference the other way round', () => {
    // P(X <= 1 | 12, 1/2) = 13 / 4,096, P(X <= 2) = 79 / 4,096.
    expect(find('directional-pair', 12, 1).lede).toBe(
      'Guessing alone gives 6 on average and so few only 3 times in 1,000: look for mistakes in labels or serving, or for a difference the other way round.',
    );
    expect(find('directional-pair', 12, 2).headline).not.toMatch(/fewer than guessing explains/);
  });
});
