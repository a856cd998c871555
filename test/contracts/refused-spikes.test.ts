import {
  REFUSED_SUBSTANCES,
  refusedSpikes,
  refusedSubstance,
  spikeRefusal,
} from '@oddglass/shared/contracts/refused-spikes.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { describe, expect, test } from 'vitest';

describe('what is never added to a cup', () => {
  test.each([
    ['2,4,6-trichlorophenol, 5 mL from the lab bottle', 'chlorophenols'],
    ['2 4 6 Trichloro-Phenol', 'chlorophenols'],
    ['2,6-dichlorophenol 0.3 µg/L', 'chlorophenols'],
    ['chlorophenols, one drop', 'chlorophenols'],
    ['TCP, 1 mL', 'chlorophenols'],
    ['H2S water', 'hydrogen sulphide'],
    ['a little H₂S', 'hydrogen sulphide'],
    ['Hydrogen Sulfide 5 µg/L', 'hydrogen sulphide'],
    ['hydrogen-sulphide', 'hydrogen sulphide'],
    ['sodium sulfide crystals', 'hydrogen sulphide'],
    ['ETHANETHIOL', 'mercaptans'],
    ['ethane thiol in ethanol', 'mercaptans'],
    ['ethane-1-thiol', 'mercaptans'],
    ['ethyl mercaptan 2 µg/L', 'mercaptans'],
    ['methyl-mercaptan', 'mercaptans'],
    ['methanethiol', 'mercaptans'],
    ['a mix of mercaptans', 'mercaptans'],
    ['3-MBT', '3-methylbut-2-ene-1-thiol'],
    ['3MBT 5 ng/L', '3-methylbut-2-ene-1-thiol'],
    ['3-Methyl-2-butene-1-thiol', '3-methylbut-2-ene-1-thiol'],
    ['3-methylbut-2-ene-1-thiol', '3-methylbut-2-ene-1-thiol'],
    ['prenyl mercaptan', '3-methylbut-2-ene-1-thiol'],
    ['household bleach, 1 drop', 'bleach'],
    ['nail-varnish remover', 'nail varnish remover'],
    ['Methanol 1 mL', 'methanol'],
  ])('%s is refused as %s', (text, name) => expect(refusedSubstance(text)?.name).toBe(name));

  test.each([
    'thiolised yeast, 1 g per litre',
    '3SH 60 ng/L',
    '3-sulfanylhexan-1-ol',
    '3-mercaptohexan-1-ol, food grade',
    'thiols of passion fruit juice',
    'potassium metabisulphite 0.05 g',
    'sulphite',
    'sulfur dioxide',
    'dimethyl sulphide 60 µg/L, food grade',
    'lactic acid 80 %, 1 mL per litre',
    'menthol crystals',
    'stir 2 h, 2 s by hand through a mesh',
    'an unbleached coffee filter',
    'vinyl phenol',
    'salicylic phenol',
    'a pinch of cardamom',
    '2 mL of vanilla extract in a litre',
    'ethyl acetate, food grade, 90 mg/L',
    'white spirit vinegar, 5 mL',
    '',
    '!!!',
  ])('%s is not', (text) => expect(refusedSubstance(text)).toBeUndefined());

  test('every name on the list is found by itself, in capitals and inside a sentence', () => {
    for (const { name, synonyms } of REFUSED_SUBSTANCES) {
      for (const one of [name, ...synonyms]) {
        for (const text of [one, one.toUpperCase(), `two drops of ${one}, stirred`]) {
          expect(refusedSubstance(text)?.name, text).toBe(name);
        }
      }
    }
  });

  test('no reference cup of the vocabulary is made with one', () => {
    const made = BUILT_IN.words.filter(({ reference }) => reference && refusedSubstance(reference.how));
    expect(made.map(({ id }) => id)).toEqual([]);
  });

  test('the sentence names it, says why and ends', () => {
    expect(spikeRefusal('3-MBT')).toBe(
      'Never add 3-methylbut-2-ene-1-thiol to a cup: nanograms are enough to spoil a room. ' +
        'Stand the same hopped beer in sunlight instead.',
    );
    for (const { name } of REFUSED_SUBSTANCES) expect(spikeRefusal(name)).toMatch(/^Never add .+: .+\.$/);
  });

  test('is looked for in every spiked sample of every part, and pointed at', () => {
    const flight = { cups: 'own', replicates: 1, cupsEach: null, alpha: 0.05, kind: 'liking' } as const;
    const cup = (spike: string | null) => ({ armId: 'one', role: 'spiked' as const, spike });
    const parts = [
      { ...flight, samples: [cup('salt'), cup(null)] },
      { ...flight, samples: [cup('vanilla'), cup('H2S')] },
    ];
    expect(refusedSpikes(parts).map(({ at }) => at.join('/'))).toEqual(['1/samples/1/spike']);
  });
});
