import { randomBytes } from 'node:crypto';
import { hashRaw } from '@node-rs/argon2';
import type { RandomSource } from '@oddglass/shared/ground/random.ts';
import { newRecoveryCode } from '../../access/tokens.ts';
import { ARGON2ID } from './sign-in.service.ts';

const CODES = 10;

export interface DrawnCodes {
  codes: string[];
  salt: string;
  codeHashes: string[];
}

/**
 * Ten codes and what is stored of them. All are hashed with one salt, so that a code is looked up by a single slow hash
 * instead of ten.
 */
export async function drawRecoveryCodes(random: RandomSource): Promise<DrawnCodes> {
  const codes = Array.from({ length: CODES }, () => newRecoveryCode(random));
  const salt = randomBytes(16).toString('base64url');
  const codeHashes: string[] = [];
  for (const code of codes) codeHashes.push(await hashRecoveryCode(code, salt));
  return { codes, salt, codeHashes };
}

/** As it is stored; hyphens, spaces and case make no difference. */
export async function hashRecoveryCode(code: string, salt: string): Promise<string> {
  const letters = code.toUpperCase().replace(/[^A-Z0-9]/g, '');
  const hashed = await hashRaw(letters, { ...ARGON2ID, salt: Buffer.from(salt, 'base64url') });
  return hashed.toString('base64url');
}
