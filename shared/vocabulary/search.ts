import type { Word } from '../contracts/seat.ts';
import type { Vocabulary, WordFound } from '../contracts/vocabulary.ts';
import { leastSlips, letterBits, slips, slipsAllowed } from './edit-distance.ts';
import { normalTokens, tellingTokens } from './normal-form.ts';

type Matched = WordFound['matched'];

interface Term {
  /** Place of its word in the index. */
  readonly owner: number;
  readonly matched: Matched;
  readonly key: string;
  /** Its tokens in the order written, joined without gaps: 'peardrop'. */
  readonly run: Letters;
  /** The same with plural endings. */
  readonly fullRun: Letters;
  /** Places of its tokens in `tokens`. */
  readonly tokens: readonly number[];
}

/** What a search needs, made once for a vocabulary and kept for as long as it is shown. */
export interface VocabularyIndex {
  readonly words: readonly { id: string; word: string; family: string }[];
  readonly terms: readonly Term[];
  readonly tokens: readonly Letters[];
}

interface Letters {
  readonly text: string;
  readonly bits: number;
}

interface Named {
  id: string;
  word: string;
  family: string;
  terms: readonly Matched[];
}

function indexOf(named: readonly Named[]): VocabularyIndex {
  const places = new Map<string, number>();
  const placeOf = (token: string): number => {
    const place = places.get(token) ?? places.size;
    places.set(token, place);
    return place;
  };
  const terms = named.flatMap((word, owner) =>
    word.terms.map((matched): Term => {
      const tokens = normalTokens(matched.text);
      return { owner, matched, ...typedOf(matched.text), tokens: tokens.map(placeOf) };
    }),
  );
  return {
    words: named.map(({ id, word, family }) => ({ id, word, family })),
    terms,
    tokens: [...places.keys()].map(lettersOf),
  };
}

const termsOf = (kind: Matched['kind'], texts: readonly string[]): Matched[] =>
  texts.map((text) => ({ kind, text }));

/** Index of a whole vocabulary: words, synonyms, similes and compounds. */
export function indexVocabulary(vocabulary: Vocabulary): VocabularyIndex {
  const families = new Map(vocabulary.families.map(({ id, name }) => [id, name]));
  return indexOf(
    vocabulary.words.map((word) => ({
      id: word.id,
      word: word.word,
      family: families.get(word.family) ?? word.family,
      terms: [
        { kind: 'word', text: word.word },
        ...termsOf('synonym', word.synonyms),
        ...termsOf('simile', word.similes),
        ...termsOf('compound', word.compounds),
      ],
    })),
  );
}

/** Index of the words a seat was given; what else they are found by counts as synonym. */
export function indexSeatWords(words: readonly Word[]): VocabularyIndex {
  return indexOf(
    words.map(({ id, word, family, found }) => ({
      id,
      word,
      family,
      terms: [{ kind: 'word', text: word }, ...termsOf('synonym', found)],
    })),
  );
}

// Ranks, our own: the word itself before what it is also called, what it recalls, what it is made of.
const KIND_BONUS: Readonly<Record<Matched['kind'], number>> = {
  word: 3,
  synonym: 2,
  simile: 1,
  compound: 0,
};
const SAME = 100;
const ONE_SLIP = 84;
const BEGUN = 80;
const PARTS = 70;
const BEGUN_WITH_SLIPS = 50;

const indexes = new WeakMap<Vocabulary, VocabularyIndex>();

/** The index of a vocabulary, made at its first use. Vocabularies are never changed in place. */
function keptIndex(vocabulary: Vocabulary): VocabularyIndex {
  const known = indexes.get(vocabulary);
  if (known) return known;
  const index = indexVocabulary(vocabulary);
  indexes.set(vocabulary, index);
  return index;
}

/**
 * Words for what somebody types, best first, each once with the text of it that matched. Forgives case, accents,
 * plurals, order, gaps, an unfinished end, and one slip from 4 letters on, two from 9. An empty query finds nothing.
 * `limit`: most words returned. Example: 'wet newspapr' finds paper, through the simile 'wet newspaper'
 */
export function searchWords(
  source: Vocabulary | VocabularyIndex,
  query: string,
  limit: number = 8,
): WordFound[] {
  const index = 'terms' in source ? source : keptIndex(source);
  const tokens = normalTokens(query);
  if (tokens.length === 0) return [];
  const typed = typedOf(query);
  const fits = tokens.map((token) => {
    const bits = letterBits(token);
    return index.tokens.map((target) => fitOf(token, bits, target));
  });
  const best = new Map<number, { score: number; matched: Matched }>();
  for (const term of index.terms) {
    const plain = scoreOf(typed, term, fits);
    if (plain === 0) continue;
    const score = plain + KIND_BONUS[term.matched.kind];
    if (score > (best.get(term.owner)?.score ?? 0)) best.set(term.owner, { score, matched: term.matched });
  }
  return [...best]
    .sort(([one, a], [other, b]) => b.score - a.score || one - other)
    .slice(0, limit)
    .flatMap(([owner, { matched }]) => {
      const word = index.words[owner];
      return word ? [{ ...word, matched }] : [];
    });
}

/** How well one typed token fits one of the index, 0 to 1. */
function fitOf(token: string, bits: number, { text: target, bits: targetBits }: Letters): number {
  if (token === target) return 1;
  if (target.startsWith(token)) return token.length === 1 ? 0.6 : 0.9;
  const allowed = slipsAllowed(token.length);
  if (allowed === 0 || token.length > target.length + allowed) return 0;
  if (leastSlips(bits, targetBits) > allowed) return 0;
  const { whole, begun } = slips(token, target, allowed);
  if (whole <= allowed) return 0.8 - 0.1 * (whole - 1);
  return begun <= allowed - (token.length < 6 ? 1 : 0) ? 0.5 : 0;
}

type Typed = Pick<Term, 'key' | 'run' | 'fullRun'>;

function typedOf(text: string): Typed {
  const tokens = normalTokens(text);
  return {
    key: [...tokens].sort().join(' '),
    run: lettersOf(tokens.join('')),
    fullRun: lettersOf(tellingTokens(text).join('')),
  };
}

const lettersOf = (text: string): Letters => ({ text, bits: letterBits(text) });

/** How well a query fits a term, 0 to 100; 0 is not at all. */
function scoreOf(typed: Typed, term: Term, fits: readonly (readonly number[])[]): number {
  if (typed.key === term.key || typed.run.text === term.run.text) return SAME;
  const isBegun = term.run.text.startsWith(typed.run.text);
  const begun = isBegun ? BEGUN + (9 * typed.run.text.length) / term.run.text.length : 0;
  return Math.max(begun, scoreOfSlips(typed, term), scoreOfParts(term, fits));
}

/** The whole text with slips, gaps left out; with plural endings too, where that makes a difference. */
function scoreOfSlips(typed: Typed, term: Term): number {
  const score = scoreOfRun(typed.run, term.run);
  const isTold = typed.fullRun.text === typed.run.text && term.fullRun.text === term.run.text;
  return isTold ? score : Math.max(score, scoreOfRun(typed.fullRun, term.fullRun));
}

function scoreOfRun(typed: Letters, target: Letters): number {
  const { length } = typed.text;
  const allowed = slipsAllowed(length);
  if (allowed === 0 || length > target.text.length + allowed) return 0;
  if (length < 6 && target.text.length > length + allowed) return 0;
  if (leastSlips(typed.bits, target.bits) > allowed) return 0;
  const { whole, begun } = slips(typed.text, target.text, allowed);
  // One slip in a long word is more likely meant than the beginning of a longer one.
  if (whole <= allowed) return length >= 6 && whole === 1 ? ONE_SLIP : PARTS - 5 * whole;
  return length >= 6 && begun <= allowed ? BEGUN_WITH_SLIPS - 5 * begun : 0;
}

/** Token by token in any order: all typed tokens must fit for a good rank, half of them well for any. */
function scoreOfParts(term: Term, fits: readonly (readonly number[])[]): number {
  let sum = 0;
  let fitting = 0;
  for (const fit of fits) {
    const bestFit = Math.max(...term.tokens.map((place) => fit[place] ?? 0));
    sum += bestFit;
    if (bestFit > 0) fitting += 1;
  }
  if (sum < 0.4 * fits.length) return 0;
  const covered = Math.min(fitting / term.tokens.length, 1);
  return (PARTS * (sum / fits.length) * (0.6 + 0.4 * covered) * fitting) / fits.length;
}

/**
 * The one shared word that free text surely means; null where there is doubt. Sure is: the same as a word, synonym,
 * simile (or a compound that only one word has) but for case, accents, plural and order; or from 6 letters on a slip
 * or two away from terms of one word only. 'not buttery' and 'butter and vinegar' are left to the host.
 */
export function placeFreeWord(source: Vocabulary | VocabularyIndex, text: string): { id: string } | null {
  const index = 'terms' in source ? source : keptIndex(source);
  const typed = typedOf(text);
  const run = typed.run.text;
  if (run === '') return null;
  const same = index.terms.filter((term) => term.key === typed.key || term.run.text === run);
  if (same.length > 0) {
    return onlyOwner(index, same.some(named) ? same.filter(named) : same);
  }
  const allowed = run.length < 6 ? 0 : slipsAllowed(run.length);
  if (allowed === 0) return null;
  const near = index.terms.filter(
    (term) =>
      named(term) &&
      Math.abs(term.run.text.length - run.length) <= allowed &&
      slips(run, term.run.text, allowed).whole <= allowed,
  );
  return onlyOwner(index, near);
}

const named = (term: Term): boolean => term.matched.kind !== 'compound';

function onlyOwner(index: VocabularyIndex, terms: readonly Term[]): { id: string } | null {
  const [owner, ...others] = new Set(terms.map((term) => term.owner));
  if (owner === undefined || others.length > 0) return null;
  const word = index.words[owner];
  return word ? { id: word.id } : null;
}
