import { describe, expect, test } from 'vitest';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import { choiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { descriptionResult, type DescriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import { placesDisclosable, disclosable } from '@oddglass/shared/publication/disclosure-cells.ts';
import { discloseChoice } from '@oddglass/shared/publication/disclosure-choice.ts';
import { discloseDescription } from '@oddglass/shared/publication/disclosure-flights.ts';
import type { DisclosureContext } from '@oddglass/shared/publication/disclosure-context.ts';
import { PROTECTIONS } from '@oddglass/shared/publication/disclosure.ts';
import { fixtureSession } from './package-fixture.ts';

// A group is told from three people on (minimum frequency rule; Hundepool et al. 2012, from memory): each table that has
// groups holds to it by itself, with three told and two withheld.

function partOf(session: number, kind: PartResult['kind']): PartResult {
  return analyseSession(fixtureSession(session, 1).input).parts.find((one) => one.kind === kind)!;
}
const telling = (change: Partial<DisclosureContext> = {}): DisclosureContext => ({
  tier: 'full',
  protections: PROTECTIONS,
  rare: new Set(),
  withheld: { cells: 0, words: 0, lines: 0, parts: 0 },
  ...change,
});
/** The same without the protection: what is withheld is withheld by it. */
const open = (): DisclosureContext => telling({ protections: { ...PROTECTIONS, smallGroups: false } });

describe('words of a description', () => {
  const whole = descriptionResult.parse(partOf(2, 'description'));
  const [word] = whole.words;
  const [share, ...others] = word!.shares;
  const lift = { estimate: 1, lower: 0, upper: 2, p: 0.2 };
  const means = { meanChosen: 5, meanNotChosen: 6, lift, within: lift, pAdjusted: 0.3 };

  const tellOne = (change: Partial<DescriptionResult>, how: DisclosureContext) => ({
    told: discloseDescription({ ...whole, words: [word!], duplicates: [], ...change }, how),
    withheld: how.withheld.cells,
  });

  test.each([
    [3, 9, true],
    [2, 10, false],
    [9, 3, true],
    [10, 2, false],
  ])('liking of the %i who gave a word and the %i who did not: told %s', (chosen, notChosen, told) => {
    const liking = {
      tests: 1,
      assessors: 12,
      rows: [{ id: word!.id, word: word!.word, chosen, notChosen, ...means }],
      reading: '',
    };
    const rows = (how: DisclosureContext) => tellOne({ liking }, how).told.liking?.rows.length;
    expect(rows(telling())).toBe(told ? 1 : 0);
    expect(rows(open())).toBe(1);
    const how = telling();
    const { told: published } = tellOne({ liking }, how);
    const without = telling();
    tellOne({ liking: { ...liking, rows: [] } }, without);
    expect(how.withheld.cells - without.withheld.cells).toBe(1 - (published.liking?.rows.length ?? 0));
  });

  test.each([
    [3, true],
    [2, false],
    [1, false],
  ])('a mean of how strong a word was, over %i answers: told %s', (of, told) => {
    const intensity = { mean: 2, of };
    const words = [
      {
        ...word!,
        pairs: [],
        shares: [{ ...share!, intensity }, ...others.map((one) => ({ ...one, intensity: null }))],
      },
    ];
    const { told: published, withheld } = tellOne({ words, liking: null }, telling());
    expect(published.words[0]!.shares[0]!.intensity).toEqual(told ? intensity : null);
    expect(withheld).toBe(told ? 0 : 1);
    expect(tellOne({ words, liking: null }, open()).told.words[0]!.shares[0]!.intensity).toEqual(intensity);
  });

  test.each([
    [3, 3, true],
    [0, 3, true],
    [3, 0, true],
    [0, 0, true],
    [2, 6, false],
    [6, 2, false],
    [1, 0, false],
    [0, 1, false],
  ])('%i who gave it to one sample only and %i to the other only: told %s', (onlyFirst, onlySecond, told) => {
    const [first, second] = whole.samples.map(({ key }) => key) as [string, string];
    const pair = { first, second, onlyFirst, onlySecond, p: 0.2, pAdjusted: 0.4 };
    const words = [
      { ...word!, shares: word!.shares.map((one) => ({ ...one, intensity: null })), pairs: [pair] },
    ];
    const { told: published, withheld } = tellOne({ words, liking: null }, telling());
    expect(published.words[0]!.pairs).toEqual(told ? [pair] : []);
    expect(withheld).toBe(told ? 0 : 1);
    expect(tellOne({ words, liking: null }, open()).told.words[0]!.pairs).toEqual([pair]);
  });
});

describe('people of a choice with repeated trays', () => {
  const whole = choiceResult.parse(partOf(3, 'duo-trio'));
  const told = (sizes: readonly number[], how: DisclosureContext) => {
    const perAssessor = sizes.map((assessors, counted) => ({ answers: 2, counted, assessors }));
    const published = discloseChoice({ ...whole, replicates: { ...whole.replicates!, perAssessor } }, how);
    return published.part.replicates?.perAssessor.map(({ assessors }) => assessors);
  };

  test.each([
    [[3, 5, 4], true],
    [[3, 5, 2], false],
    [[1, 5, 6], false],
  ])('by how many of their answers were right, in groups of %j: told %s', (sizes, shown) => {
    expect(told(sizes, telling())).toEqual(shown ? sizes : []);
    expect(told(sizes, open())).toEqual(sizes);
  });
});

describe('places and cells', () => {
  const place = (chosen: number) => ({ chosen, rightThere: null });
  test('a place where none is right is told from three choices on', () => {
    expect(placesDisclosable([place(3), place(9)], 0, PROTECTIONS)).toBe(true);
    expect(placesDisclosable([place(2), place(10)], 0, PROTECTIONS)).toBe(false);
    expect(placesDisclosable([place(2), place(10)], 0, { smallGroups: false })).toBe(true);
  });
  test('a group of two is withheld, however large its people say the table is', () => {
    const cells = [
      { answers: 2, counted: 1 },
      { answers: 12, counted: 6 },
    ];
    // Of a group of two who disagree nobody is known to outsiders: only its size speaks against it.
    expect(disclosable(cells, 1, { smallGroups: true, complementary: false }, 0)).toEqual([false, true]);
    expect(
      disclosable([{ answers: 3, counted: 1 }], 1, { smallGroups: true, complementary: false }, 0),
    ).toEqual([true]);
    // Six answers of two trays each are three people; five are not.
    const each2 = { smallGroups: true, complementary: false };
    expect(disclosable([{ answers: 6, counted: 3 }], 2, each2, 0)).toEqual([true]);
    expect(disclosable([{ answers: 5, counted: 3 }], 2, each2, 0)).toEqual([false]);
  });
});
