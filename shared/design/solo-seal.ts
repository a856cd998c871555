import { sha256 } from '@noble/hashes/sha2.js';
import { utf8ToBytes } from '@noble/hashes/utils.js';
import { randomInt, toHex, type RandomSource } from '../ground/random.ts';
import { canonicalJson, normalised } from './canonical-json.ts';
import { drawTrayCodes } from './codes.ts';

const SERIES_FORMAT = 'oddglass-solo-1';
const ANSWER_FORMAT = 'oddglass-solo-answer-1';

/**
 * Codes of the trays by place, left to right; one place of each, drawn by chance, has none and is set aside where
 * `poured` is larger than `tasted`. Knows nothing of arms, so that nothing of it can tell a cup.
 * Errors: RangeError of drawTrayCodes.
 */
export function drawSoloTrays(
  random: RandomSource,
  { trays, poured, tasted }: { trays: number; poured: number; tasted: number },
): { codes: (string | null)[] }[] {
  const [own = []] = drawTrayCodes(random, [Array.from({ length: trays }, () => tasted)]);
  return own.map((codes) => {
    if (poured === tasted) return { codes };
    const aside = randomInt(random, poured);
    return { codes: [...codes.slice(0, aside), null, ...codes.slice(aside)] };
  });
}

/** What is hashed of a series before its first sip: canonical JSON (RFC 8785). It holds no secret, so it needs no nonce. */
export function soloSealText(sealed: {
  id: string;
  trialId: string;
  at: string;
  settings: unknown;
  plan: unknown;
}): string {
  return canonicalJson({ format: SERIES_FORMAT, ...(normalised(sealed) as object) });
}

/** What is hashed of a locked answer; `before` is the hash of the answer before it, or the root, so that all hang together. */
export function soloAnswerText(locked: {
  id: string;
  tray: number;
  answer: unknown;
  before: string;
}): string {
  return canonicalJson({ format: ANSWER_FORMAT, ...(normalised(locked) as object) });
}

/** SHA-256 of such a text, hex. */
export const soloHash = (text: string): string => toHex(sha256(utf8ToBytes(text)));
