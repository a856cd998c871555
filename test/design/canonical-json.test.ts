import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { canonicalJson, normalised } from '@oddglass/shared/design/canonical-json.ts';

// A. Rundgren, B. Jordan, S. Erdtman: JSON Canonicalization Scheme (JCS). RFC 8785, June 2020.

describe('the examples of RFC 8785', () => {
  test('section 3.2.2, whose bytes section 3.2.4 prints', () => {
    const given = String.raw`{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }`;
    const printed = `
      7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72
      75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a
      5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31
      65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37
      5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30
      30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d`;
    const bytes = Buffer.from(canonicalJson(JSON.parse(given)), 'utf8');
    expect(bytes.toString('hex')).toBe(printed.replaceAll(/\s/g, ''));
  });

  test('section 3.2.3: keys by UTF-16 code units, so that the emoji stands before U+FB33', () => {
    const given = String.raw`{
      "\u20ac": "Euro Sign",
      "\r": "Carriage Return",
      "\ufb33": "Hebrew Letter Dalet With Dagesh",
      "1": "One",
      "\ud83d\ude00": "Emoji: Grinning Face",
      "\u0080": "Control",
      "\u00f6": "Latin Small Letter O With Diaeresis"
    }`;
    expect(canonicalJson(JSON.parse(given))).toBe(
      '{"\\r":"Carriage Return","1":"One","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis",' +
        '"\u20ac":"Euro Sign","\ud83d\ude00":"Emoji: Grinning Face","\ufb33":"Hebrew Letter Dalet With Dagesh"}',
    );
  });

  test.each([
    ['0000000000000000', '0'],
    ['8000000000000000', '0'],
    ['0000000000000001', '5e-324'],
    ['8000000000000001', '-5e-324'],
    ['7fefffffffffffff', '1.7976931348623157e+308'],
    ['ffefffffffffffff', '-1.7976931348623157e+308'],
    ['4340000000000000', '9007199254740992'],
    ['c340000000000000', '-9007199254740992'],
    ['4430000000000000', '295147905179352830000'],
    ['44b52d02c7e14af5', '9.999999999999997e+22'],
    ['44b52d02c7e14af6', '1e+23'],
    ['44b52d02c7e14af7', '1.0000000000000001e+23'],
    ['444b1ae4d6e2ef4e', '999999999999999700000'],
    ['444b1ae4d6e2ef4f', '999999999999999900000'],
    ['444b1ae4d6e2ef50', '1e+21'],
    ['3eb0c6f7a0b5ed8c', '9.999999999999997e-7'],
    ['3eb0c6f7a0b5ed8d', '0.000001'],
    ['41b3de4355555553', '333333333.3333332'],
    ['41b3de4355555554', '333333333.33333325'],
    ['41b3de4355555555', '333333333.3333333'],
    ['41b3de4355555556', '333333333.3333334'],
    ['41b3de4355555557', '333333333.33333343'],
    ['becbf647612f3696', '-0.0000033333333333333333'],
    ['43143ff3c1cb0959', '1424953923781206.2'],
  ])('appendix B: the number of bits %s is %s', (bits, text) => {
    expect(canonicalJson(Buffer.from(bits, 'hex').readDoubleBE())).toBe(text);
  });

  test.each(['7fffffffffffffff', '7ff0000000000000', 'fff0000000000000'])(
    'appendix B: the bits %s are no number of JSON',
    (bits) => {
      expect(() => canonicalJson(Buffer.from(bits, 'hex').readDoubleBE())).toThrow(RangeError);
    },
  );
});

const plain = { noNullPrototype: true, maxDepth: 4 } as const;

describe('canonical text', () => {
  test('is JSON of the same value', () => {
    fc.assert(
      fc.property(fc.jsonValue(plain), (value) => {
        expect(JSON.parse(canonicalJson(value))).toEqual(JSON.parse(JSON.stringify(value)));
      }),
    );
  });

  test('does not depend on the order in which keys were written', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.string({ unit: 'binary' }), fc.jsonValue(plain)), (value) => {
        const other = Object.fromEntries(Object.entries(value).reverse());
        expect(canonicalJson(other)).toBe(canonicalJson(value));
      }),
    );
  });

  test('keeps two spellings of one text apart, as RFC 8785 section 3.1 asks', () => {
    expect(canonicalJson('Caf\u00e9')).not.toBe(canonicalJson('Cafe\u0301'));
  });

  const holds = (what: string) => `JSON cannot hold ${what}`;
  test.each<[string, unknown, string]>([
    ['undefined', undefined, holds('a undefined')],
    ['undefined in an object', { a: undefined }, holds('a undefined')],
    ['undefined in an array', [undefined], holds('a undefined')],
    ['a hole', Array<number>(2), holds('a undefined')],
    ['NaN', { a: [Number.NaN] }, holds('NaN')],
    ['infinity', -Infinity, holds('-Infinity')],
    ['a function', () => 1, holds('a function')],
    ['a bigint', 1n, holds('a bigint')],
    ['a symbol', Symbol('a'), holds('a symbol')],
    ['a date', new Date(0), holds('an object that is not plain')],
    ['a map', new Map([['a', 1]]), holds('an object that is not plain')],
    ['bytes', Uint8Array.of(1), holds('an object that is not plain')],
    ['a lone surrogate', 'a\ud83d', 'a text has a lone surrogate'],
    ['a lone surrogate as a key', { '\ude00': 1 }, 'a text has a lone surrogate'],
  ])('refuses %s, also while normalising, and says why', (_, value, why) => {
    for (const refuse of [canonicalJson, normalised]) {
      expect(() => refuse(value)).toThrow(RangeError);
      expect(() => refuse(value)).toThrow(why);
    }
  });
});

describe('normalised', () => {
  test('brings texts and keys into form C, deep down, in a copy', () => {
    const given = { 'e\u0301': ['o\u0308', { a: 'n\u0303', b: 1, c: null, d: true }] };
    const before = structuredClone(given);
    expect(normalised(given)).toEqual({ '\u00e9': ['\u00f6', { a: '\u00f1', b: 1, c: null, d: true }] });
    expect(given).toEqual(before);
  });

  test('refuses an object in which two keys become one', () => {
    expect(() => normalised({ 'e\u0301': 1, '\u00e9': 2 })).toThrow('two spellings');
  });

  test('changes nothing the second time', () => {
    fc.assert(
      fc.property(fc.jsonValue({ ...plain, stringUnit: 'grapheme' }), (value) => {
        const once = normalised(value);
        expect(canonicalJson(normalised(once))).toBe(canonicalJson(once));
      }),
    );
  });
});
