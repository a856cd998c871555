import {
  drink,
  thresholdKind,
  vocabulary,
  type VocabularyWord,
} from '@oddglass/shared/contracts/vocabulary.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { normalKey } from '@oddglass/shared/vocabulary/normal-form.ts';
import { NAMED_IN_TERMINOLOGY } from '@oddglass/shared/vocabulary/terminology.ts';
import { wordsForSeat } from '@oddglass/shared/vocabulary/seat-words.ts';
import { describe, expect, test } from 'vitest';

const { words, families } = BUILT_IN;
const ids = new Set(words.map(({ id }) => id));
const namesOf = (word: VocabularyWord) => [word.word, ...word.synonyms, ...word.similes];

// Ids that stand in ballots since the first sessions: they must never go away.
const FIRST_IDS =
  'banana green-apple citrus stone-fruit berry dried-fruit floral bread toast caramel grainy clove pepper grassy ' +
  'resin sweet sour bitter dry full-body thin-body warming lively butter cooked-corn sulphur vinegar solvent paper ' +
  'barnyard medicinal mousy';

describe('the built-in vocabulary', () => {
  test('fits its schema and has 120 words or more', () => {
    expect(vocabulary.parse(BUILT_IN)).toEqual(BUILT_IN);
    expect(words.length).toBeGreaterThanOrEqual(120);
    expect(ids.size).toBe(words.length);
  });

  test('has families of several words each, and no word without one', () => {
    for (const { id } of families) {
      expect(words.filter(({ family }) => family === id).length, id).toBeGreaterThanOrEqual(4);
    }
    expect(new Set(families.map(({ name }) => normalKey(name))).size).toBe(families.length);
    expect(words.filter(({ family }) => !families.some(({ id }) => id === family))).toEqual([]);
  });

  test('has a good number of words for each drink', () => {
    for (const one of drink.options) {
      expect(words.filter(({ drinks }) => drinks.includes(one)).length, one).toBeGreaterThan(90);
    }
  });

  test('keeps the ids of the first words', () => {
    expect(FIRST_IDS.split(' ').filter((id) => !ids.has(id))).toEqual([]);
  });

  test('gives each name to one word only', () => {
    const owners = new Map<string, string[]>();
    for (const word of words) {
      for (const name of new Set(namesOf(word).map(normalKey))) {
        owners.set(name, [...(owners.get(name) ?? []), word.id]);
      }
    }
    expect([...owners].filter(([, ofName]) => ofName.length > 1)).toEqual([]);
    expect([...owners.keys()]).not.toContain('');
  });

  test('repeats no list entry within a word', () => {
    for (const word of words) {
      for (const list of [word.synonyms, word.similes, word.compounds, word.causes, word.perceived]) {
        expect(new Set(list.map((text) => normalKey(text))).size, word.id).toBe(list.length);
      }
    }
  });

  test('has words for what grows without hops, for age, tannin, fruit, the eye and the whole', () => {
    const asked =
      'juniper bog-myrtle yarrow wormwood mothball soft-tannin hard-tannin gooseberry lychee hazy bright ' +
      'darker-colour paler-colour browned rich-foam poor-foam gushing balanced unbalanced long-finish faulty';
    expect(asked.split(' ').filter((id) => !ids.has(id))).toEqual([]);
    for (const { id, family, perceived } of words) {
      expect(perceived.includes('eye'), id).toBe(family === 'appearance');
    }
  });

  test('puts words where people look for them', () => {
    const familyOf = (id: string) => words.find((word) => word.id === id)?.family;
    expect(familyOf('leather')).toBe('wild-culture');
    expect(familyOf('ester-faded')).toBe('whole');
    for (const { id, family, alsoIn } of words) {
      expect(
        alsoIn.filter((other) => other === family || !families.some((one) => one.id === other)),
        id,
      ).toEqual([]);
    }
    expect(words.find(({ id }) => id === 'vinegar')?.alsoIn).toEqual(['taste', 'wild-culture']);
  });

  test('says nothing of what was found to be untrue', () => {
    const told = (id: string) => JSON.stringify(words.find((word) => word.id === id));
    expect(told('bitter')).not.toMatch(/back of the tongue/);
    expect(told('rancid-butter')).not.toMatch(/Clostridium[^']*with air/);
    expect(told('metallic')).not.toMatch(/rather than the nose/);
    expect(told('mousy')).toMatch(/pH of about 5/);
    for (const id of ['grainy', 'grassy']) {
      expect(words.find((word) => word.id === id)?.reference?.caution, id).toMatch(/^For smelling only/);
    }
    expect(told('butter')).toMatch(/without diacetyl/);
  });

  test('names only words there are as confused ones, never the word itself', () => {
    const orphans = words.flatMap(({ id, confusedWith }) =>
      confusedWith.filter((other) => !ids.has(other) || other === id).map((other) => `${id}: ${other}`),
    );
    expect(orphans).toEqual([]);
    for (const word of words) expect(new Set(word.confusedWith).size, word.id).toBe(word.confusedWith.length);
  });

  test('says of each fault where it comes from', () => {
    const faults = words.filter(({ kind }) => kind === 'fault');
    expect(faults.length).toBeGreaterThan(25);
    expect(faults.filter(({ causes }) => causes.length === 0)).toEqual([]);
  });
});

describe('facts', () => {
  test('every definition, cause, reference and threshold has a source', () => {
    for (const word of words) {
      const sourced = new Set(word.sources.map(({ what }) => what));
      expect(sourced.has('definition'), word.id).toBe(true);
      expect(sourced.has('causes'), word.id).toBe(word.causes.length > 0);
      expect(sourced.has('reference'), word.id).toBe(word.reference !== null);
      const ofThresholds = word.sources
        .filter(({ what }) => what === 'threshold')
        .map(({ source }) => source);
      expect(new Set(ofThresholds), word.id).toEqual(new Set(word.thresholds.map(({ source }) => source)));
    }
  });

  test('a source is common practice or a publication with its year', () => {
    for (const { id, sources } of words) {
      for (const { source, fromMemory } of sources) {
        if (source === 'common practice, no source') expect(fromMemory, id).toBe(false);
        else expect(source, id).toMatch(/\b(?:19|20)\d\d\b|Oxford Companion|braumagazin/);
      }
    }
  });

  test('terms of the published terminologies name them, as from memory', () => {
    expect(NAMED_IN_TERMINOLOGY.filter((id) => !ids.has(id))).toEqual([]);
    const named = words.filter(({ sources }) =>
      sources.some(
        ({ what, source, fromMemory }) => what === 'definition' && fromMemory && /:38 |ISO 5492/.test(source),
      ),
    );
    expect(named.map(({ id }) => id).sort()).toEqual([...new Set(NAMED_IN_TERMINOLOGY)].sort());
    expect(named.length).toBeGreaterThan(70);
  });

  test('every threshold says of what kind it is, and in what it was found', () => {
    const kinds = new Set<string>();
    for (const { id, thresholds } of words) {
      for (const { kind, medium, matrix, compound } of thresholds) {
        kinds.add(kind);
        const beer = /beer|lager/.test(matrix);
        const wine = /wine/.test(matrix) && !/water/.test(matrix);
        const plain = /^water$/.test(matrix);
        expect(medium, `${id} ${compound}`).toBe(beer ? 'beer' : wine ? 'wine' : plain ? 'water' : 'model');
        expect(thresholdKind.options).toContain(kind);
      }
    }
    expect([...kinds].sort()).toEqual(['detection', 'difference', 'rejection']);
    const all = words.flatMap(({ thresholds }) => thresholds);
    // Clapperton & Brown 1978 (abstract): 'difference-threshold concentrations'; Prescott et al. 2005 (abstract): both kinds.
    for (const { source, kind } of all) {
      if (source.startsWith('Clapperton')) expect(kind).toBe('difference');
    }
    expect(
      all.filter(({ source }) => source.startsWith('Prescott')).map(({ kind, low }) => [kind, low]),
    ).toEqual([
      ['detection', 2.1],
      ['rejection', 3.1],
    ]);
  });

  test('no range under one author joins figures of different drinks', () => {
    for (const [id, compound, low] of [
      ['banana', 'isoamyl acetate', 1],
      ['ripe-apple', 'ethyl hexanoate', 0.2],
      ['solvent', 'ethyl acetate', 25],
    ] as const) {
      const inBeer = words
        .find((word) => word.id === id)
        ?.thresholds.filter((one) => one.compound === compound && one.medium === 'beer');
      expect(
        inBeer?.map((one) => one.low),
        id,
      ).toEqual([low]);
    }
  });

  test('every threshold has compound, unit, matrix and a range that opens upwards', () => {
    const thresholds = words.flatMap((word) =>
      word.thresholds.map((threshold) => ({ id: word.id, ...threshold })),
    );
    expect(thresholds.length).toBeGreaterThanOrEqual(35);
    for (const { id, compound, low, high, unit, matrix, source } of thresholds) {
      expect(low, id).toBeGreaterThan(0);
      expect(low, id).toBeLessThanOrEqual(high);
      expect(['g/L', 'mg/L', 'µg/L', 'ng/L']).toContain(unit);
      for (const said of [compound, matrix, source]) expect(said.length, id).toBeGreaterThan(2);
    }
  });

  // Humia et al. 2019, Molecules 24:1568, table 1; Clapperton & Brown 1978 (abstract); Goldstein et al. 1993.
  test.each([
    ['butter', 'diacetyl', 0.1, 0.2, 'mg/L'],
    ['green-apple', 'acetaldehyde', 1.114, 5, 'mg/L'],
    ['banana', 'isoamyl acetate', 1, 2.5, 'mg/L'],
    ['solvent', 'ethyl acetate', 25, 50, 'mg/L'],
    ['ripe-apple', 'ethyl hexanoate', 0.2, 0.3, 'mg/L'],
    ['musty', '2,4,6-trichloroanisole', 3.1, 3.1, 'ng/L'],
    ['rose', '2-phenylethyl acetate', 3, 5, 'mg/L'],
    ['fusel', 'amyl alcohols', 50, 70, 'mg/L'],
    ['goat', 'octanoic acid', 4.5, 4.5, 'mg/L'],
    ['goat', 'decanoic acid', 1.5, 1.5, 'mg/L'],
    ['waxy-fat', 'dodecanoic acid', 0.6, 0.6, 'mg/L'],
    ['lightstruck', '3-methylbut-2-ene-1-thiol', 1, 5, 'ng/L'],
  ])('%s: %s is %d to %d %s as published', (id, compound, low, high, unit) => {
    const word = words.find((one) => one.id === id);
    expect(word?.thresholds).toContainEqual(
      expect.objectContaining({ compound, low, high, unit, fromMemory: false }),
    );
  });

  test('figures recalled are marked, and name the publication', () => {
    const recalled = words.flatMap(({ thresholds }) => thresholds).filter(({ fromMemory }) => fromMemory);
    expect(recalled.length).toBeGreaterThan(10);
    for (const { source } of recalled) expect(source).toMatch(/\b(?:19|20)\d\d\b/);
  });
});

describe('the words of a seat', () => {
  test('are all of them with the names they are found by, in vocabulary order', () => {
    const atSeat = wordsForSeat(BUILT_IN);
    expect(atSeat.map(({ id }) => id)).toEqual(words.map(({ id }) => id));
    expect(atSeat.find(({ id }) => id === 'butter')).toMatchObject({
      word: 'butter',
      family: 'Milk, cheese and fat',
      found: expect.arrayContaining(['butterscotch', 'buttered popcorn', 'diacetyl']),
    });
  });

  test('are those asked for, in vocabulary order, unknown ones left out', () => {
    expect(wordsForSeat(BUILT_IN, ['mousy', 'banana', 'no-such-word']).map(({ id }) => id)).toEqual([
      'banana',
      'mousy',
    ]);
    expect(wordsForSeat(BUILT_IN, [])).toEqual([]);
  });
});
