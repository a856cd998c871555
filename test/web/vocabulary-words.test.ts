import { describe, expect, it } from 'vitest';
import { wordId } from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { extendVocabulary } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import {
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
      compound: 'dimethyl sulfide',
      unit: 'µg/L',
      matrix: 'beer',
      source: '',
      fromMemory: true,
    } as const;
    expect(thresholdText({ ...given, low: 30, high: 50 })).toBe(
      '30 to 50\u00a0µg/L of dimethyl sulfide, in beer',
    );
    expect(thresholdText({ ...given, low: 5, high: 5 })).toBe('5\u00a0µg/L of dimethyl sulfide, in beer');
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
  it('parts a list at commas and lines', () => {
    expect(listOf(' one, two\nthree ,, ')).toEqual(['one', 'two', 'three']);
  });
});
