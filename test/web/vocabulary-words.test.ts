import { describe, expect, it } from 'vitest';
import { wordId } from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { extendVocabulary } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import {
  addsText,
  baseLines,
  changeText,
  doseText,
  foundBy,
  freshId,
  listOf,
  namesOf,
  sourceLines,
  takenIds,
  thresholdText,
  wordsByFamily,
} from '../../web/src/lib/vocabulary/vocabulary-words.ts';

describe('ids of new words', () => {
  it('are plain, start with a letter and are never taken', () => {
    const none = new Set<string>();
    expect(freshId('Grüne Äpfel!', none)).toBe('grune-apfel');
    expect(freshId('4-vinyl', none)).toBe('word-4-vinyl');
    expect(freshId('…', none)).toBe('word');
    expect(freshId('Smoke', new Set(['smoke', 'smoke-2']))).toBe('smoke-3');
  });
  it('are what the contract takes, whatever is typed', () => {
    for (const text of ['a'.repeat(60), `${'ab '.repeat(20)}`, '- -', 'Ærø 2', '日本', '  x  ', "d'Anjou"]) {
      const id = freshId(text, new Set());
      expect(wordId.safeParse(id).success, `${text}: ${id}`).toBe(true);
      expect(id).toMatch(/^[a-z]/);
    }
  });
  it('count words that were merged away as taken', () => {
    const merged = extendVocabulary(BUILT_IN, [
      { kind: 'words-merged', from: 'rotten-egg', into: 'sulphur' },
    ]);
    expect(takenIds(merged).has('rotten-egg')).toBe(true);
  });
});

describe('texts of the vocabulary', () => {
  it('says doses and thresholds with units, in the matrix they hold for', () => {
    const dose = { amount: 0.05, unit: 'g', per: '500 mL of dry cider' };
    expect(doseText({ how: '', dose, caution: '', allergens: [] })).toBe(
      '0.05\u00a0g per 500 mL of dry cider',
    );
    const given = {
      kind: 'detection',
      compound: 'dimethyl sulfide',
      unit: 'µg/L',
      medium: 'beer',
      matrix: 'beer',
      source: '',
      fromMemory: true,
    } as const;
    expect(thresholdText({ ...given, low: 30, high: 50 })).toBe(
      'noticed (detection): 30 to 50\u00a0µg/L of dimethyl sulfide, in beer',
    );
    expect(thresholdText({ ...given, kind: 'rejection', matrix: 'pale lager', low: 5, high: 5 })).toBe(
      'liked less with it (rejection): 5\u00a0µg/L of dimethyl sulfide, in pale lager (beer)',
    );
    expect(
      thresholdText({
        ...given,
        kind: 'difference',
        medium: 'model',
        matrix: 'water with ethanol',
        low: 5,
        high: 5,
      }),
    ).toBe('more of it noticed (difference): 5\u00a0µg/L of dimethyl sulfide, in water with ethanol (model)');
    expect(thresholdText({ ...given, kind: 'recognition', matrix: 'beer', low: 5, high: 5 })).toMatch(
      /^named \(recognition\): /,
    );
  });
  it('says what a dose comes to, and how many times the threshold that is', () => {
    const word = (id: string) => BUILT_IN.words.find((one) => one.id === id)!;
    expect(addsText(word('vinegar'))).toBe(
      'Adds about 500\u00a0mg/L of acetic acid, 2.9 times its detection threshold in beer.',
    );
    expect(addsText(word('lactic'))).toBe(
      'Adds about 950 to 1,100\u00a0mg/L of lactic acid, 2.4 to 2.7 times its detection threshold in pale lager.',
    );
    expect(addsText(word('struck-match'))).toBe('Adds about 58\u00a0mg/L of sulfur dioxide.');
    expect(addsText(word('banana'))).toBe('');
  });
  it('names the drink of a cup for each kind of drink, with its allergens', () => {
    const { reference } = BUILT_IN.words.find(({ id }) => id === 'banana')!;
    expect(baseLines(reference!)).toEqual([
      'plain pale beer (beer, mixed and sour fermentations): holds cereals with gluten',
      'dry still cider (cider): holds sulphites, fruit',
      'plain dry mead (mead): holds sulphites',
      'plain pasteurised kombucha (kombucha): holds what its label says',
      'plain kvass (kvass): holds cereals with gluten',
      'plain alcohol-free beer (alcohol-free beer): holds cereals with gluten',
    ]);
    expect(baseLines({})).toEqual([]);
  });
  it('puts statements of one source together and says what is from memory; thresholds carry their own', () => {
    expect(
      sourceLines([
        { what: 'definition', source: 'common practice, no source', fromMemory: false },
        { what: 'causes', source: 'common practice, no source', fromMemory: false },
        { what: 'reference', source: 'A book', fromMemory: true },
        { what: 'threshold', source: 'A paper', fromMemory: false },
      ]),
    ).toEqual([
      'definition, causes: common practice, no source',
      'reference cup: A book (named from memory, not looked at for this)',
    ]);
  });
  it('keeps the name of a word that was added and merged away', () => {
    const added = {
      kind: 'word-added' as const,
      id: 'attic-dust',
      word: 'attic dust',
      family: BUILT_IN.families[0]!.id,
      usually: 'depends' as const,
      definition: 'A warm loft.',
      synonyms: [],
      similes: [],
      perceived: ['nose' as const],
      drinks: ['beer' as const],
    };
    const merged = { kind: 'words-merged' as const, from: 'attic-dust', into: 'sulphur' };
    const vocabulary = extendVocabulary(BUILT_IN, [added, merged]);
    const nameOf = namesOf(vocabulary, [{ change: added }, { change: merged }]);
    expect(changeText(merged, nameOf)).toBe('attic dust merged into sulphury');
    expect(changeText(added, nameOf)).toBe('New word “attic dust”');
  });
  it('says why a word was found, unless it is the word itself', () => {
    const found = { id: 'x', word: 'x', family: 'f' };
    expect(foundBy({ ...found, matched: { kind: 'word', text: 'x' } })).toBe('');
    expect(foundBy({ ...found, matched: { kind: 'simile', text: 'pear drops' } })).toBe(
      'recalls “pear drops”',
    );
  });
  it('leaves no word out of its family', () => {
    const families = wordsByFamily(BUILT_IN);
    expect(families.flatMap(({ words }) => words)).toHaveLength(BUILT_IN.words.length);
    expect(families.every(({ words }) => words.length > 0)).toBe(true);
  });
  it('shows a word in further families where people look for it', () => {
    const also = wordsByFamily(BUILT_IN).filter(({ also: others }) =>
      others.some(({ id }) => id === 'vinegar'),
    );
    expect(also.map(({ id }) => id)).toEqual(['taste', 'wild-culture']);
  });
  it('parts a list at commas and lines', () => {
    expect(listOf(' one, two\nthree ,, ')).toEqual(['one', 'two', 'three']);
  });
});
