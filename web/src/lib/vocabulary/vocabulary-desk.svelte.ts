import { ApiProblem } from '#lib/api/client.ts';
import { changeVocabulary, getVocabulary } from '#lib/api/vocabulary.ts';
import type {
  Vocabulary,
  VocabularyChange,
  VocabularyView,
  WordFound,
} from '@oddglass/shared/contracts/vocabulary.ts';
import { searchWords } from '@oddglass/shared/vocabulary/search.ts';
import { createContext } from 'svelte';
import { changeText, namesOf } from './vocabulary-words.ts';

/** The vocabulary of a panel while it is looked at and changed. */
export class VocabularyDesk {
  view: VocabularyView = $state.raw() as VocabularyView;
  /** The last change that went through, in words. */
  said = $state('');

  constructor(view: VocabularyView) {
    this.view = view;
  }

  get vocabulary(): Vocabulary {
    return this.view.vocabulary;
  }

  get nameOf(): (id: string) => string {
    return namesOf(this.view.vocabulary, this.view.history);
  }

  search(query: string, limit?: number): WordFound[] {
    return searchWords(this.view.vocabulary, query, limit);
  }

  /**
   * Sends a change on the version that is shown. False when somebody else's change came first: then the newest
   * version is shown, and nothing was changed.
   */
  async apply(change: VocabularyChange): Promise<boolean> {
    const { panelId, vocabulary } = this.view;
    const told = changeText(change, change.kind === 'word-added' ? () => change.word : this.nameOf);
    try {
      this.view = await changeVocabulary(fetch, panelId, { onVersion: vocabulary.changes, change });
      this.said = `${told}. This is version ${this.view.vocabulary.version}.`;
      return true;
    } catch (reason) {
      if (!(reason instanceof ApiProblem) || reason.name !== 'vocabulary-moved') throw reason;
      this.view = await getVocabulary(fetch, panelId);
      return false;
    }
  }
}

/** One desk for the whole page. */
export const [vocabularyDesk, setVocabularyDesk] = createContext<VocabularyDesk>();
