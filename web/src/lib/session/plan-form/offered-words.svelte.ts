import { getWordsToOffer } from '#lib/api/session.ts';
import type { LateReason, WordFound } from '@oddglass/shared/contracts/vocabulary.ts';
import { whyLate } from '@oddglass/shared/vocabulary/late-words.ts';
import { spikeCups, type SpikeCup } from '@oddglass/shared/vocabulary/spike-cups.ts';
import { indexVocabulary, searchWords, type VocabularyIndex } from '@oddglass/shared/vocabulary/search.ts';
import { createContext } from 'svelte';

/** The vocabulary that a description offers words of, and that spiked samples are chosen from. It is fetched when the first part wants it. */
export class PlanWords {
  trouble = $state.raw<unknown>(undefined);
  readonly #panel: string;
  #index = $state.raw<VocabularyIndex>();
  /** Reference cups that can be poured as spiked samples. */
  cups = $state.raw<readonly SpikeCup[]>([]);
  /** Words worth a late question, faults first, with why. */
  lateWords = $state.raw<readonly { id: string; word: string; reason: LateReason }[]>([]);
  #loading = false;

  constructor(panel: string) {
    this.#panel = panel;
  }

  get ready(): boolean {
    return this.#index !== undefined;
  }

  async load(): Promise<void> {
    if (this.#loading || this.#index) return;
    this.#loading = true;
    this.trouble = undefined;
    try {
      const { vocabulary } = await getWordsToOffer(globalThis.fetch, this.#panel);
      this.cups = spikeCups(vocabulary);
      this.lateWords = vocabulary.words
        .toSorted((a, b) => Number(b.kind === 'fault') - Number(a.kind === 'fault'))
        .flatMap((word) => {
          const reason = whyLate(word);
          return reason ? [{ id: word.id, word: word.word, reason }] : [];
        });
      this.#index = indexVocabulary(vocabulary);
    } catch (reason) {
      this.trouble = reason;
    } finally {
      this.#loading = false;
    }
  }

  /** The word of an id; the id in words while the vocabulary is on its way. */
  wordOf(id: string): string {
    return this.#index?.words.find((word) => word.id === id)?.word ?? id.replaceAll('-', ' ');
  }

  search(query: string): WordFound[] {
    return this.#index ? searchWords(this.#index, query, 10) : [];
  }

  /** Cups of the words that are found, in that order. */
  searchCups(query: string): SpikeCup[] {
    if (!this.#index) return [];
    const ids = searchWords(this.#index, query, 30).map(({ id }) => id);
    return ids.flatMap((id) => this.cups.filter(({ reference }) => reference.wordId === id)).slice(0, 10);
  }

  /** Ids of every word of a family that a word found belongs to. */
  family(name: string): string[] {
    return this.#index?.words.filter(({ family }) => family === name).map(({ id }) => id) ?? [];
  }

  /** Families in the order of the vocabulary. */
  get families(): string[] {
    const families = this.#index?.words.map(({ family }) => family) ?? [];
    return families.filter((family, at) => families.indexOf(family) === at);
  }
}

/** One vocabulary for all parts of a plan. */
export const [planWords, setPlanWords] = createContext<PlanWords>();
