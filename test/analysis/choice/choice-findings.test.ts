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

// What is said of a difference, at the counts where it turns. Numbers in the sentences are exact binomial tails and
// Clopper-Pearson limits from SciPy 1.17.1 (stats.binom, stats.beta); numbers needed are those of ISO 4120 and ISO 5495
// (from memory), which are the same by these tails.

const find = (name: PartName, n: number, right: number, change = {}) =>
  analyseChoice(input({ ...PARTS[name], ...change }, trays(name, n, right))).finding;
const oneSided = (p: string) => `exact one-sided p = ${p}, alpha fixed beforehand at 0.05`;
const twoSided = (p: string) => `exact two-sided p = ${p}, alpha fixed beforehand at 0.05`;
const share = (range: string) =>
  `The share of discriminators, if a share always tells and the rest guess, is ${range} (90 % interval).`;
const power = (chance: string, direction = '') =>
  `With these answers a difference${direction} of which the share of discriminators is 50 % would have been found with a chance of ${chance}.`;

describe('a triangle', () => {
  test('8 of 12, the number needed', () => {
    expect(find('triangle', 12, 8)).toEqual({
      verdict: 'difference-shown',
      headline: 'Eight of twelve found the odd one. Guessing alone reaches that 19 times in 1,000.',
      lede: `The two arms can be told apart (${oneSided('0.019')}). ${share('between 9 % and 82 %')}`,
    });
  });

  test('7 of 12, one below', () => {
    expect(find('triangle', 12, 7)).toEqual({
      verdict: 'difference-not-shown',
      headline: 'Seven of twelve found the odd one: no difference was demonstrated.',
      lede: `Guessing alone gives 4 on average and reaches 7 or more 66 times in 1,000 (${oneSided('0.066')}). ${share('up to 73 %')} ${power('63 %')}`,
    });
  });

  test('none of 12: nothing is reached, no share is left, and so few are seldom', () => {
    expect(find('triangle', 12, 0)).toEqual({
      verdict: 'difference-not-shown',
      headline: 'None of twelve found the odd one: no difference was demonstrated.',
      lede: `Guessing alone gives 4 on average (${oneSided('1.000')}). ${power('63 %')} Guessing alone seldom gives so few (8 times in 1,000): look for mistakes in labels or serving.`,
    });
  });

  test('2 of 2 is too few people for any number to be enough: p is one in nine', () => {
    expect(find('triangle', 2, 2)).toMatchObject({
      verdict: 'difference-not-shown',
      headline: 'Two of two found the odd one: no difference was demonstrated.',
    });
  });

  test('that too few are right is said where guessing gives so few in at most one of twenty panels', () => {
    const seldom = (n: number, right: number) => /seldom gives so few/.test(find('triangle', n, right).lede);
    // P(X <= x | n, 1/3): 0.0199 and 0.0594 of 24, 0.0077 and 0.0540 of 12.
    expect([seldom(24, 3), seldom(24, 4)]).toEqual([true, false]);
    expect([seldom(12, 0), seldom(12, 1)]).toEqual([true, false]);
  });

  test('a lower limit of the share below half a per cent says no more than none', () => {
    // Lower limits of 0.0027 and 0.0863.
    expect(find('triangle', 23, 12)).toMatchObject({ verdict: 'difference-shown' });
    expect(find('triangle', 23, 12).lede).toMatch(/guess, is up to 56 % \(90 % interval\)\.$/);
    // 4 of 12 are as many as guessing gives: a limit below none, which is none.
    expect(find('triangle', 12, 4).lede).toContain(share('up to 41 %'));
  });

  test('repeated trays: answers are counted, people are told, and the chance is of independent answers', () => {
    const served = Array.from({ length: 12 }, (_, index) => {
      const order = ORDERS.triangle[index % 6] ?? '';
      const chosen = index < 7 ? rightPlaces('triangle', order) : wrongPlaces('triangle', order);
      return tray(order, chosen, { assessor: `a${index >> 1}`, replicate: (index % 2) + 1 });
    });
    const { finding } = analyseChoice(input({ ...PARTS.triangle, replicates: 2 }, served));
    expect(finding.headline).toBe(
      'Seven of twelve answers, by six people, found the odd one: no difference was demonstrated.',
    );
    expect(finding.lede).toMatch(/a chance of 63 %, were the answers of one person independent\.$/);
  });
});

describe('a pair with a direction', () => {
  test('10 of 12, the number needed, whichever arm was expected to have more', () => {
    const lede = (more: string, less: string) =>
      `${more} is perceptibly stronger in “bitter” than ${less} (${oneSided('0.019')}). ${share('between 12 % and 94 %')}`;
    expect(find('directional-pair', 12, 10)).toEqual({
      verdict: 'difference-shown',
      headline:
        'Ten of twelve named Warm as stronger in “bitter”. Guessing alone reaches that 19 times in 1,000.',
      lede: lede('Warm', 'Cool'),
    });
    // Two for the second arm are ten for the first.
    expect(find('directional-pair', 12, 2, { strongerArmId: ARMS[0] })).toEqual({
      verdict: 'difference-shown',
      headline:
        'Ten of twelve named Cool as stronger in “bitter”. Guessing alone reaches that 19 times in 1,000.',
      lede: lede('Cool', 'Warm'),
    });
  });

  test('9 of 12, one below, and 2 of 12, which tells the other way round', () => {
    const direction = ' in “bitter” in the direction fixed beforehand';
    expect(find('directional-pair', 12, 9)).toEqual({
      verdict: 'difference-not-shown',
      headline:
        'Nine of twelve named Warm as stronger in “bitter”: no difference in “bitter” was demonstrated.',
      lede: `Guessing alone gives 6 on average and reaches 9 or more 73 times in 1,000 (${oneSided('0.073')}). ${share('up to 86 %')} ${power('39 %', direction)}`,
    });
    expect(find('directional-pair', 12, 2).lede).toMatch(
      /so few \(19 times in 1,000\): look for mistakes in labels or serving or for a direction that was expected wrongly, which this test cannot show\.$/,
    );
    expect(find('directional-pair', 12, 3).lede).not.toMatch(/so few/);
  });
});

describe('a pair without a direction', () => {
  const either = ' in “bitter”, in whichever direction,';

  test('13 of 16, the number needed, for either arm', () => {
    for (const [count, more, less] of [
      [13, 'Cool', 'Warm'],
      [3, 'Warm', 'Cool'],
    ] as const) {
      expect(find('open-pair', 16, count)).toEqual({
        verdict: 'difference-shown',
        headline: `13 of 16 named ${more} as stronger in “bitter”. Guessing alone gives so uneven a split 21 times in 1,000.`,
        lede: `${more} is perceptibly stronger in “bitter” than ${less} (${twoSided('0.021')}). ${more} was named in 81 % of answers (95 % interval 54 % to 96 %).`,
      });
    }
  });

  test('12 of 16, one below, for either arm', () => {
    for (const [count, more] of [
      [12, 'Cool'],
      [4, 'Warm'],
    ] as const) {
      expect(find('open-pair', 16, count)).toEqual({
        verdict: 'difference-not-shown',
        headline: `Twelve of 16 named ${more} as stronger in “bitter”: no difference in “bitter” was demonstrated.`,
        lede: `Guessing alone gives a split at least so uneven 77 times in 1,000 (${twoSided('0.077')}). ${more} was named in 75 % of answers (95 % interval 48 % to 93 %). ${power('40 %', either)}`,
      });
    }
  });

  test('an even split names both arms, the first one first', () => {
    expect(find('open-pair', 12, 6)).toEqual({
      verdict: 'difference-not-shown',
      headline:
        'Six of twelve named Cool, as many Warm, as stronger in “bitter”: no difference in “bitter” was demonstrated.',
      lede: `An even split is what guessing gives most often (${twoSided('1.000')}). Cool was named in 50 % of answers (95 % interval 21 % to 79 %). ${power('39 %', either)}`,
    });
    // One more than half is no even split.
    expect(find('open-pair', 13, 7).headline).toMatch(/^Seven of 13 named Cool as stronger/);
  });

  test('p at alpha is shown, above it not: 5 of 5 have p = 2 / 2^5', () => {
    expect(find('open-pair', 5, 5, { alpha: 0.0625 }).verdict).toBe('difference-shown');
    expect(find('open-pair', 5, 5, { alpha: 0.0624 }).verdict).toBe('difference-not-shown');
    expect(find('open-pair', 5, 5).verdict).toBe('difference-not-shown');
  });
});
