import type { RandomSource } from '../ground/random.ts';

/** Random numbers as simulated people use them up. */
export interface Draws {
  /** A number from 0 to below 1, of 53 bits. */
  uniform(): number;
  /** A standard normal number. */
  normal(): number;
  /** True with this chance, 0 to 1. */
  chance(share: number): boolean;
  /** A whole number from `least` to `most`, each equally likely (within 2^-53). */
  whole(least: number, most: number): number;
}

/**
 * Draws from whole numbers 0 to 2^32 - 1 that are each equally likely.
 * Normal numbers by Box & Muller 1958, Ann. Math. Stat. 29:610 (from memory), in pairs. Errors: none of its own.
 */
export function drawsFrom(next: () => number): Draws {
  const uniform = (): number => (next() * 2 ** 21 + (next() >>> 11)) / 2 ** 53;
  // They come in pairs; the second is kept.
  let kept: number | null = null;
  return {
    uniform,
    normal: () => {
      if (kept !== null) {
        const value = kept;
        kept = null;
        return value;
      }
      const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
      const angle = 2 * Math.PI * uniform();
      kept = radius * Math.sin(angle);
      return radius * Math.cos(angle);
    },
    chance: (share) => uniform() < share,
    whole: (least, most) => least + Math.floor(uniform() * (most - least + 1)),
  };
}

/** Draws from a source of random bytes, four for each number. Errors: those of the source. */
export function drawsOf(random: RandomSource): Draws {
  return drawsFrom(() => {
    const bytes = random.bytes(4);
    return new DataView(bytes.buffer, bytes.byteOffset, 4).getUint32(0);
  });
}
