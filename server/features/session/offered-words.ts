import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { resolveWord } from '@oddglass/shared/vocabulary/panel-vocabulary.ts';
import { fieldProblem } from '../../refusal/problem.ts';

/**
 * The settings with the words they offer as this vocabulary has them: a word merged away since they were written stands
 * for the one it went into, each once. Otherwise nobody would see it on a ballot, and results would count it as offered.
 * A problem for a word that the vocabulary never had, and where fewer than two are left.
 */
export function withLiveWords(settings: SessionSettings, vocabulary: Vocabulary): SessionSettings {
  return {
    ...settings,
    parts: settings.parts.map((part, index) => {
      if (part.kind !== 'description') return part;
      const at = `#/parts/${index}`;
      const late = part.late && {
        late: { ...part.late, words: live(part.late.words, vocabulary, `${at}/late/words`) },
      };
      if (part.words === null) return { ...part, ...late };
      const words = live(part.words, vocabulary, `${at}/words`);
      if (words.length < 2) {
        throw fieldProblem(`${at}/words`, 'Offer at least two words: these were merged into one.');
      }
      return { ...part, words, ...late };
    }),
  };
}

function live(ids: readonly string[], vocabulary: Vocabulary, at: string): string[] {
  const words = ids.map((id, place) => {
    const word = resolveWord(vocabulary, id);
    if (!word) throw fieldProblem(`${at}/${place}`, `The vocabulary has no word '${id}'.`);
    return word.id;
  });
  return [...new Set(words)];
}
