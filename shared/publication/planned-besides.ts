import type { SessionInput } from '../analysis/analyse.ts';
import type { PlannedBesides } from '../contracts/publication.ts';
import { isFlight } from '../contracts/part-fit.ts';
import type { SealLeaf } from '../contracts/seal.ts';
import { revealsArmName } from '../rules/title.ts';
import { builtInBeside, EDITION } from '../vocabulary/editions.ts';

/** A word of the vocabulary as it was offered at the seats. */
export interface OfferedWord {
  id: string;
  word: string;
  family: string;
  definition: string;
}

/**
 * What protocol.json needs and the sealed settings do not hold: light, what lingers, words that the built-in vocabulary of
 * the sealed edition has not or has otherwise, and what is known of spikes. Texts of the panel's own that name an arm by
 * its name in the house are left out: readers may know it by another one.
 */
export function plannedBesides(
  { session, settings }: Pick<SessionInput, 'session' | 'settings'>,
  offered: readonly OfferedWord[],
  leaves: readonly SealLeaf[],
): PlannedBesides {
  const names = session.arms.map(({ name }) => name);
  const builtIn = new Map(builtInWords(leaves).map((word) => [word.id, word]));
  const asked = new Set(
    settings.parts.flatMap((part) =>
      part.kind === 'description' ? [...(part.words ?? []), ...(part.late?.words ?? [])] : [],
    ),
  );
  return {
    masking: settings.masking,
    ...(settings.lingering && { lingering: settings.lingering }),
    words: offered
      .filter(({ id, word, definition }) => {
        const known = builtIn.get(id);
        return asked.has(id) && (known?.word !== word || known.definition !== definition);
      })
      .map(({ id, word, family, definition }) => ({
        id,
        word,
        family,
        definition: revealsArmName(definition, names) ? null : definition,
      })),
    spikes: settings.parts.flatMap((part, at) =>
      (isFlight(part) ? part.samples : []).flatMap((sample) => {
        if (sample.spike === null) return [];
        const { armId: _arm, role: _role, spike, spikeReference, ...known } = sample;
        // A reference of the panel's own is in its own words.
        const reference = spikeReference?.own === null ? { spikeReference } : {};
        return [{ part: at + 1, spike, ...known, ...reference }];
      }),
    ),
  };
}

/** Words of the edition that was sealed; the newest where the seal does not say. */
export function builtInWords(leaves: readonly Pick<SealLeaf, 'kind' | 'body'>[]): OfferedWord[] {
  const edition = leaves.find(({ kind }) => kind === 'settings')?.body['vocabularyEdition'];
  const { words, families } = builtInBeside(edition === 1 ? 1 : EDITION, []);
  const named = new Map(families.map(({ id, name }) => [id, name]));
  return words.map(({ id, word, family, definition }) => ({
    id,
    word,
    family: named.get(family) ?? '',
    definition,
  }));
}
