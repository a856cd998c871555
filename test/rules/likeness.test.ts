import { isOneScript, lookOf } from '@oddglass/shared/rules/likeness.ts';
import fc from 'fast-check';
import { expect, test } from 'vitest';

// Pairs from memory of Unicode's confusables.txt (UTS #39); NFKC forms are the standard's own.

test.each([
  ['paypal', 'p\u0430ypal'],
  ['scope', '\u0455\u0441\u043e\u0440\u0435'],
  ['omega', '\u03bfmeg\u03b1'],
  ['file', '\ufb01le'],
  ['host2', '\uff48\uff4f\uff53\uff54\uff12'],
  ['Lena', 'Iena'],
  ['oil', '0il'],
  ['two words', '  two \u00a0 words '],
])('%s looks like %s', (one, other) => {
  expect(lookOf(one)).toBe(lookOf(other));
});

test.each([
  ['Anna', 'Anne'],
  ['José', 'Jose'],
  ['Жанна', 'Жанно'],
  ['an na', 'anna'],
  ['Mia', 'Mla'],
])('%s does not look like %s', (one, other) => {
  expect(lookOf(one)).not.toBe(lookOf(other));
});

test('a name looks like itself in any normal form, and in capitals but for I', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'grapheme', maxLength: 30 }), (name) => {
      for (const form of ['NFC', 'NFD', 'NFKC', 'NFKD'] as const)
        expect(lookOf(name.normalize(form))).toBe(lookOf(name));
    }),
  );
  fc.assert(
    fc.property(fc.stringMatching(/^[a-hj-z0-9 ]{1,20}$/), (name) => {
      expect(lookOf(name.toUpperCase())).toBe(lookOf(name));
    }),
  );
});

test.each([
  'Anna 2',
  'Ελένη',
  'Жанна-3',
  '山田はな子',
  '김민준',
  '李ㄌㄧ',
  'O’Brien',
  '№ 7',
  '🍺',
  'e\u0301a',
])('%s is of one script', (name) => {
  expect(isOneScript(name)).toBe(true);
});

test.each(['h\u043est', 'Annα', 'Жaнна', '김はな', 'Аnna', 'Ꭰanna'])('%s is of several', (name) => {
  expect(isOneScript(name)).toBe(false);
});
