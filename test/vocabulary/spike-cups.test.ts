import { describe, expect, test } from 'vitest';
import type { SampleInput } from '@oddglass/shared/contracts/part.ts';
import type { WordReference } from '@oddglass/shared/contracts/vocabulary.ts';
import { spikeRefusal } from '@oddglass/shared/contracts/refused-spikes.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { isAsInVocabulary, spikeCups, spikeText } from '@oddglass/shared/vocabulary/spike-cups.ts';

const cups = spikeCups(BUILT_IN);
const ofWord = (id: string) => cups.find(({ reference }) => reference.wordId === id);

const own = (change: Partial<WordReference> = {}): WordReference => ({
  how: 'Stir in the cordial.',
  dose: { amount: 10, unit: 'mL', per: '1 litre of plain pale lager' },
  caution: 'Sweet: serve within the hour.',
  allergens: ['sulphites'],
  ...change,
});
function withOwn(...references: WordReference[]) {
  const words = BUILT_IN.words.map((word) =>
    word.id === 'sour' ? { ...word, ownReferences: references } : word,
  );
  return { ...BUILT_IN, words };
}
const ownOf = (...references: WordReference[]) =>
  spikeCups(withOwn(...references)).filter(({ reference }) => reference.own !== null);

describe('reference cups to pour', () => {
  test('are those that go into a measured volume and are drunk', () => {
    expect(cups.length).toBeGreaterThan(90);
    const smelled = BUILT_IN.words.flatMap(({ id, reference }) =>
      /smelling/i.test(reference?.caution ?? '') ? [id] : [],
    );
    expect(smelled.length).toBeGreaterThan(5);
    for (const id of [...smelled, 'stale-sweet', 'lively', 'paper']) expect(ofWord(id), id).toBeUndefined();
    for (const { reference, dose } of cups) {
      expect(dose.perMl, reference.wordId).toBeGreaterThanOrEqual(250);
      expect([reference.word, reference.how, dose.unit].map(spikeRefusal)).toEqual([
        undefined,
        undefined,
        undefined,
      ]);
      expect(spikeText({ reference, dose }).length).toBeLessThanOrEqual(120);
    }
    expect(new Set(cups.map(spikeText)).size).toBe(cups.length);
  });

  test('tell the alcohol of what they add, where its caution or recipe names a spirit, wine or extract', () => {
    expect(ofWord('warming')).toMatchObject({
      dose: { amount: 30, unit: 'mL', perMl: 470 },
      allergens: [],
      reference: { own: null, abv: 40 },
    });
    const holding = cups.filter(
      ({ reference: { how, caution } }) =>
        /\b(?:vodka|rum|sherry|wine|dry still cider|extract holds alcohol|a little alcohol)\b/i.test(
          `${how} ${caution}`,
        ) && !/wine and malt vinegar/i.test(caution),
    );
    expect(holding.length).toBeGreaterThanOrEqual(7);
    for (const { reference } of holding) expect(reference.abv, reference.wordId).toBeGreaterThan(0);
    expect(ofWord('lactic')?.reference.abv).toBe(0);
    expect(ofWord('nutty')?.allergens).toEqual(['nuts']);
  });

  test("include the panel's own, with what they do not tell left open", () => {
    expect(ownOf(own())).toMatchObject([
      {
        dose: { amount: 10, unit: 'mL', perMl: 1000 },
        allergens: ['sulphites'],
        reference: { wordId: 'sour', own: 0, abv: null },
      },
    ]);
    expect(ownOf(own({ abv: 12, allergens: [] }))).toMatchObject([
      { allergens: null, reference: { abv: 12 } },
    ]);
    const left = [
      own({ caution: 'For smelling only.' }),
      own({ caution: 'Only smell it.' }),
      own({ caution: 'Not for drinking: a trace is enough.' }),
      own({ dose: { amount: 5, unit: 'g', per: 'a covered glass' } }),
      own({ dose: { amount: 5, unit: 'g', per: '100 mL of warm water' } }),
      own({ how: 'Add a drop of acetone.' }),
      own({ dose: { amount: 1, unit: 'drop of ethanethiol', per: '1 L' } }),
    ];
    // Each keeps its place among the word's own, which the plan names it by.
    expect(ownOf(...left, own()).map(({ reference }) => reference.own)).toEqual([left.length]);
  });
});

describe('a sample says where it comes from', () => {
  const cup = ofWord('nutty')!;
  const sample: SampleInput = {
    armId: 'a',
    role: 'spiked',
    spike: spikeText(cup),
    spikeDose: cup.dose,
    spikeReference: cup.reference,
    spikeAllergens: ['nuts'],
  };

  test('and is as the vocabulary has it; more allergens may be named, never fewer', () => {
    expect(isAsInVocabulary(sample, BUILT_IN)).toBe(true);
    expect(isAsInVocabulary({ ...sample, spikeAllergens: ['nuts', 'milk'] }, BUILT_IN)).toBe(true);
    expect(isAsInVocabulary({ armId: 'a', role: 'spiked', spike: 'by hand' }, BUILT_IN)).toBe(true);
    const others: Partial<SampleInput>[] = [
      { spikeAllergens: [] },
      { spikeAllergens: null },
      { spike: 'nuts' },
      { spikeDose: { ...cup.dose, amount: 150 } },
      { spikeReference: { ...cup.reference, abv: 5 } },
      { spikeReference: { ...cup.reference, how: 'Stir in hazelnut oil.' } },
      { spikeReference: { ...cup.reference, wordId: 'sour' } },
      { spikeReference: { ...cup.reference, own: 0 } },
    ];
    for (const other of others) {
      expect(isAsInVocabulary({ ...sample, ...other }, BUILT_IN), JSON.stringify(other)).toBe(false);
    }
  });
});
