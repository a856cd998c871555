import { createHash } from 'node:crypto';
import type { RandomSource } from '@oddglass/shared/ground/random.ts';

/** A bearer token of 128 random bits, base64url. */
export function newToken(random: RandomSource): string {
  return Buffer.from(random.bytes(16)).toString('base64url');
}

/** What is stored of a token: high-entropy secrets need no slow hash. */
export function hashToken(token: string): string {
  return createHash('sha256').update(token).digest('base64url');
}

// Small letters and digits without 0, 1, l and o: 32 of them, five bits each.
const ADDRESS_ALPHABET = 'abcdefghijkmnpqrstuvwxyz23456789';

/** An address that cannot be guessed: 26 characters, 130 bits. */
export function newAddress(random: RandomSource): string {
  return [...random.bytes(26)].map((byte) => ADDRESS_ALPHABET[byte % 32]).join('');
}

// Letters and digits that are not taken for one another, also in poor light: no 0 O D-like 1 I L, 2 Z, 5 S, 8 B, U V.
const JOIN_ALPHABET = 'ACDEFGHJKMNPQRTVWXY34679';

function newLetters(random: RandomSource, count: number): string {
  let letters = '';
  while (letters.length < count) {
    for (const byte of random.bytes(16)) {
      // 240 is the largest multiple of 24 below 256; above it the letters would not be equally likely.
      if (byte < 240 && letters.length < count) letters += JOIN_ALPHABET[byte % JOIN_ALPHABET.length];
    }
  }
  return letters;
}

/** A code to type: eight characters, about 36 bits; valid while the session is open, guesses are limited. */
export const newJoinCode = (random: RandomSource): string => newLetters(random, 8);

/** A code that opens the file of a place: sixteen letters in groups of four, 73 bits, and each try is slow. */
export const newSiteCode = (random: RandomSource): string =>
  (newLetters(random, 16).match(/.{4}/g) ?? []).join('-');

/** A code to write down and type one day: twelve characters in groups of four, 55 bits; guesses are limited. */
export const newRecoveryCode = (random: RandomSource): string =>
  (newLetters(random, 12).match(/.{4}/g) ?? []).join('-');
