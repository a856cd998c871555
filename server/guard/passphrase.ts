import type { ZxcvbnFactory } from '@zxcvbn-ts/core';
import { fieldProblem } from '../refusal/problem.ts';

// Fewer guesses than this are made within hours even against argon2id, by whoever got hold of the database.
const MIN_GUESSES = 1e8;
// The longer rest of a passphrase only makes it harder.
const LOOKED_AT = 64;
const MIN_LEFT = 8;

let estimator: Promise<ZxcvbnFactory> | undefined;

/** 50,000 common passphrases and rows of keys, read when first needed. */
async function open(): Promise<ZxcvbnFactory> {
  const [{ ZxcvbnFactory: Factory }, { dictionary, adjacencyGraphs }] = await Promise.all([
    import('@zxcvbn-ts/core'),
    import('@zxcvbn-ts/language-common'),
  ]);
  return new Factory({ dictionary, graphs: adjacencyGraphs });
}

/** Nothing of somebody's name and of ours, nor what only repeats: letters and digits that say something. */
function ownPart(passphrase: string, name: string): string {
  const plain = (text: string) => text.normalize('NFKC').toLowerCase();
  const words = [
    ...plain(name).split(/[^\p{L}\p{N}]+/u),
    plain(name).replace(/[^\p{L}\p{N}]/gu, ''),
    'oddglass',
  ]
    .filter((word) => word.length >= 3)
    .sort((a, b) => b.length - a.length);
  let rest = plain(passphrase);
  for (const word of words) rest = rest.replaceAll(word, ' ');
  return [...new Set(rest.split(/[^\p{L}\p{N}]+/u))].join('');
}

/**
 * Refuses what is tried first: common passphrases, rows of keys, repetitions, and what is made of the name.
 *
 * @throws Problem `invalid-input` at the field that `pointer` names.
 */
export async function refuseGuessable(passphrase: string, name: string, pointer: string): Promise<void> {
  const own = ownPart(passphrase, name);
  // A passphrase in a script without spaces or small alphabet holds more in each character.
  const left = [...own].reduce((sum, letter) => sum + (letter > '\u2e7f' ? 2 : 1), 0);
  estimator ??= open();
  const looked = passphrase.slice(0, LOOKED_AT);
  const { guesses } = (await estimator).check(looked, [name, ...name.split(/\s+/), 'oddglass']);
  if (left >= MIN_LEFT && guesses >= MIN_GUESSES) return;
  throw fieldProblem(
    pointer,
    left < MIN_LEFT
      ? 'This is easily guessed: it is little more than a name or a repetition. Four or more words without a tie to you are best.'
      : 'This is easily guessed: programs try it early. Four or more words that do not belong together are best.',
  );
}
