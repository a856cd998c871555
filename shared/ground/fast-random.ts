import type { RandomSource } from './random.ts';
import { StatsInputError } from './input.ts';

/** Whole numbers 0 to below - 1, each equally likely; below from 1 to 2^20. */
export type FastRandom = (below: number) => number;

/**
 * A fast generator for resampling, started with 16 bytes of a random source: the same source gives the same numbers.
 * xoshiro128**, period 2^128 - 1; draws again rather than fold a remainder.
 * For permutations and bootstraps only, where millions are needed; never for codes, plans or anything secret, since
 * whoever sees its output can work out the rest.
 * Errors: StatsInputError when the source gives other than 16 bytes.
 * Source: Blackman & Vigna 2021, ACM Trans. Math. Softw. 47:36; Lemire 2019, ACM Trans. Model. Comput. Simul. 29:3
 * (both from memory).
 * Example: `fastRandom({ bytes: (count) => new Uint8Array(count).fill(1) })(1000)` is 588
 */
export function fastRandom(random: RandomSource): FastRandom {
  const next = xoshiro(seedOf(random));
  return (below) => {
    let product = next() * below;
    let high = Math.floor(product / 2 ** 32);
    let low = product - high * 2 ** 32;
    if (low < below) {
      const least = 2 ** 32 % below;
      while (low < least) {
        product = next() * below;
        high = Math.floor(product / 2 ** 32);
        low = product - high * 2 ** 32;
      }
    }
    return high;
  };
}

function seedOf(random: RandomSource): [number, number, number, number] {
  const bytes = random.bytes(16);
  if (bytes.length !== 16) throw new StatsInputError('random', bytes.length, 'a source that gives 16 bytes');
  const view = new DataView(bytes.buffer, bytes.byteOffset, 16);
  const word = (at: number) => view.getUint32(4 * at, true);
  const seed: [number, number, number, number] = [word(0), word(1), word(2), word(3)];
  // All zeros is the one state it never leaves.
  return seed.every((part) => part === 0) ? [1, 2, 3, 4] : seed;
}

/**
 * The bare generator: numbers 0 to 2^32 - 1 from a state of four such numbers, not all 0.
 * Errors: none. Source: Blackman & Vigna 2021. Example: `xoshiro([1, 2, 3, 4])()` is 11520
 */
export function xoshiro([w, x, y, z]: readonly [number, number, number, number]): () => number {
  let [a, b, c, d] = [w, x, y, z];
  return () => {
    const scrambled = Math.imul(b, 5);
    const result = Math.imul((scrambled << 7) | (scrambled >>> 25), 9) >>> 0;
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = (d << 11) | (d >>> 21);
    return result;
  };
}
