import type { VocabularyView } from '@oddglass/shared/contracts/vocabulary.ts';
import type { Original } from '@oddglass/shared/publication/replicate.ts';
import { trialOf, unfitIn } from '@oddglass/shared/publication/replicate.ts';
import { wordsNeeded } from '@oddglass/shared/publication/replicate-words.ts';
import { TrialDraft } from './trial-draft.svelte.ts';

/** A trial as it is made of a protocol: its arms are those of the original, each once. */
export class ReplicaDraft extends TrialDraft {
  readonly original: Original;
  readonly #vocabulary: VocabularyView;
  /** Which tasting is asked again, from 0. */
  chosen = $state(0);

  constructor(original: Original, vocabulary: VocabularyView) {
    super();
    this.original = original;
    this.#vocabulary = vocabulary;
    const { arms, ...words } = trialOf(original.protocol);
    Object.assign(this, words);
    this.arms = arms.map((arm, key) => ({ ...arm, key, volumeMl: null, abv: null, allergens: [] }));
  }

  override get mayAdd(): boolean {
    return false;
  }

  override get mayRemove(): boolean {
    return false;
  }

  session = $derived.by(() => this.original.protocol.sessions[this.chosen]);
  /** What of the chosen tasting cannot be asked by today's rules. */
  unfit = $derived.by(() => unfitIn(this.original.protocol, this.chosen));
  words = $derived.by(() => this.session && wordsNeeded(this.session, this.#vocabulary.vocabulary));
  /** Figures of the original that are at hand. */
  figures = $derived.by(
    () => this.original.figures.find(({ root }) => root === this.session?.root)?.figures ?? [],
  );
}
