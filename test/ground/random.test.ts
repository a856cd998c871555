import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  fromHex,
  randomInt,
  randomUuid,
  seededRandom,
  shuffled,
  toHex,
  type RandomSource,
} from '@oddglass/shared/ground/random.ts';
import { chiSquare, seedOf, UPPER_MILLIONTH } from '../design/chance.ts';

/** A source that says these bytes and then no more. */
function scripted(...bytes: number[]): RandomSource {
  return { bytes: (count) => Uint8Array.from(bytes.splice(0, count)) };
}

describe('the seeded source', () => {
  test('is SHA-256 of seed and counter, by the hash of node:crypto', () => {
    const seed = seedOf(7);
    const expected = [0, 1, 2].map((counter) => {
      const tail = Buffer.alloc(8);
      tail.writeBigUInt64BE(BigInt(counter));
      return createHash('sha256').update(seed).update(tail).digest('hex');
    });
    expect(toHex(seededRandom(seed).bytes(96))).toBe(expected.join(''));
  });

  test('is one stream, however it is asked', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(70), { maxLength: 12 }), fc.nat(), (portions, number) => {
        const whole = seededRandom(seedOf(number)).bytes(portions.reduce((sum, part) => sum + part, 0));
        const source = seededRandom(seedOf(number));
        expect(portions.map((part) => toHex(source.bytes(part))).join('')).toBe(toHex(whole));
      }),
    );
  });

  test('does not change when the seed array is written over afterwards', () => {
    const seed = seedOf(1);
    const source = seededRandom(seed);
    seed.fill(0);
    expect(toHex(source.bytes(40))).toBe(toHex(seededRandom(seedOf(1)).bytes(40)));
  });

  test.each([0, 31, 33])('refuses a seed of %i bytes', (length) => {
    expect(() => seededRandom(new Uint8Array(length))).toThrow(RangeError);
  });
});

describe('a random whole number', () => {
  test('draws again where a remainder would favour small numbers', () => {
    // 2^32 = 3 * 1431655765 + 1: of all values only the largest must be drawn again.
    expect(randomInt(scripted(255, 255, 255, 255, 0, 0, 0, 5), 3)).toBe(2);
    expect(randomInt(scripted(255, 255, 255, 254), 3)).toBe(2);
    expect(randomInt(scripted(255, 255, 255, 255), 2 ** 32)).toBe(2 ** 32 - 1);
  });

  test('stays in range and reaches all of it evenly', () => {
    const source = seededRandom(seedOf(11));
    const counts = new Array<number>(7).fill(0);
    for (let draw = 0; draw < 70_000; draw++) {
      const value = randomInt(source, 7);
      counts[value] = (counts[value] ?? 0) + 1;
    }
    expect(counts).toHaveLength(7);
    // The seed is fixed, so this cannot fail now and then.
    expect(chiSquare(counts)).toBeLessThan(UPPER_MILLIONTH[6]);
  });

  test.each([0, -1, 1.5, Number.NaN, 2 ** 32 + 1])('refuses to draw below %d', (below) => {
    expect(() => randomInt(seededRandom(seedOf(0)), below)).toThrow(RangeError);
  });

  test('gives up on a source that is stuck or runs short, rather than hang or read zeros', () => {
    const stuck: RandomSource = { bytes: (count) => new Uint8Array(count).fill(255) };
    expect(() => randomInt(stuck, 3)).toThrow('stuck');
    expect(() => randomInt(scripted(1, 2), 3)).toThrow('2 of 4 bytes');
    expect(() => randomUuid(scripted(1))).toThrow('1 of 16 bytes');
  });
});

describe('a shuffle', () => {
  test('leaves what it is given untouched and loses nothing', () => {
    fc.assert(
      fc.property(fc.array(fc.integer(), { maxLength: 40 }), fc.nat(), (items, number) => {
        const before = [...items];
        const out = shuffled(seededRandom(seedOf(number)), items);
        expect(items).toEqual(before);
        expect(out).not.toBe(items);
        expect(out.toSorted()).toEqual(before.toSorted());
      }),
    );
  });

  test('has the order that Fisher and Yates give by hand', () => {
    // Picks 0 of 4, then 1 of 3, then 0 of 2: abcd -> dbca -> dcba -> cdba.
    expect(shuffled(scripted(0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0), ['a', 'b', 'c', 'd'])).toEqual([
      'c',
      'd',
      'b',
      'a',
    ]);
  });

  test('gives all 24 orders of four equally often', () => {
    const source = seededRandom(seedOf(12));
    const counts = new Map<string, number>();
    for (let draw = 0; draw < 24_000; draw++) {
      const order = shuffled(source, ['a', 'b', 'c', 'd']).join('');
      counts.set(order, (counts.get(order) ?? 0) + 1);
    }
    expect(counts.size).toBe(24);
    expect(chiSquare([...counts.values()])).toBeLessThan(UPPER_MILLIONTH[23]);
  });
});

describe('ids and hex', () => {
  test('a UUID is version 4 with the variant of RFC 9562, and only six bits are fixed', () => {
    const source = seededRandom(seedOf(13));
    const ids = Array.from({ length: 500 }, () => randomUuid(source));
    for (const id of ids)
      expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
    expect(new Set(ids).size).toBe(500);
    expect(ids.toSorted()).not.toEqual(ids);
    expect(randomUuid({ bytes: (count) => new Uint8Array(count) })).toBe(
      '00000000-0000-4000-8000-000000000000',
    );
    expect(randomUuid({ bytes: (count) => new Uint8Array(count).fill(255) })).toBe(
      'ffffffff-ffff-4fff-bfff-ffffffffffff',
    );
  });

  test('hex goes both ways, as Buffer does it', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 64 }), (bytes) => {
        expect(toHex(bytes)).toBe(Buffer.from(bytes).toString('hex'));
        expect(fromHex(toHex(bytes))).toEqual(bytes);
        expect(fromHex(toHex(bytes).toUpperCase())).toEqual(bytes);
      }),
    );
  });

  test.each(['0', 'zz', '0x00', ' 00', '00\n'])('%j is no hex string', (text) => {
    expect(() => fromHex(text)).toThrow(RangeError);
  });
});
