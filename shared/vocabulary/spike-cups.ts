import type { Allergen } from '../contracts/common.ts';
import type { SampleInput } from '../contracts/part.ts';
import { spikeRefusal } from '../contracts/refused-spikes.ts';
import { spikeDose, type SpikeDose, type SpikeReference } from '../contracts/spike.ts';
import type { Vocabulary, VocabularyWord, WordReference } from '../contracts/vocabulary.ts';
import { millilitresIn } from '../rules/kitchen-units.ts';

/** A reference cup that can be poured as a spiked sample. */
export interface SpikeCup {
  reference: SpikeReference;
  dose: SpikeDose;
  /** What the addition brings; null where a panel's own reference names none, which says nothing. */
  allergens: Allergen[] | null;
  /** Name of its family. */
  family: string;
}

/** What a sample made from the cup is called, in plan, seal and result: 'lactic sourness: 0.5 mL per 500 mL'. */
export function spikeText({ reference, dose }: Pick<SpikeCup, 'reference' | 'dose'>): string {
  return `${reference.word}: ${dose.amount} ${dose.unit} per ${dose.perMl} mL`;
}

/**
 * The reference cups of a vocabulary that can be poured, the panel's own ones included, in the order of the vocabulary. Left
 * out is what is only smelled, what does not go into a measured volume of the drink, and what names a refused substance.
 */
export function spikeCups({ words, families }: Pick<Vocabulary, 'words' | 'families'>): SpikeCup[] {
  const names = new Map(families.map(({ id, name }) => [id, name]));
  return families.flatMap(({ id }) =>
    words
      .filter(({ family }) => family === id)
      .flatMap((word) =>
        referencesOf(word).flatMap(({ reference, own }) => {
          const cup = cupOf(word, reference, own);
          return cup ? [{ ...cup, family: names.get(id) ?? '' }] : [];
        }),
      ),
  );
}

function referencesOf(word: VocabularyWord): { reference: WordReference; own: number | null }[] {
  return [
    ...(word.reference?.bases ? [{ reference: word.reference, own: null }] : []),
    ...word.ownReferences.map((reference, own) => ({ reference, own })),
  ];
}

// How cautions say that a cup is there for the nose alone.
const NOT_DRUNK =
  /\bsmelling\b|(?:^|[.;:] *)(?:only|just) (?:to )?smell|\b(?:not|never) (?:for |to )?(?:drink|tast|swallow)/i;

function cupOf(
  word: VocabularyWord,
  made: WordReference,
  own: number | null,
): Omit<SpikeCup, 'family'> | null {
  const { how, caution, dose, allergens } = made;
  const perMl = millilitresIn(dose.per);
  if (perMl === null || perMl < 1 || /\bwater\b/i.test(dose.per)) return null;
  if (NOT_DRUNK.test(`${caution} ${dose.per}`) || !spikeDose.safeParse({ ...dose, perMl }).success)
    return null;
  if ([word.word, how, dose.unit].some((text) => spikeRefusal(text) !== undefined)) return null;
  return {
    reference: { wordId: word.id, word: word.word, own, how, caution, abv: made.abv ?? null },
    dose: { amount: dose.amount, unit: dose.unit, perMl },
    allergens: own !== null && allergens.length === 0 ? null : [...allergens],
  };
}

/**
 * Is a sample as the vocabulary has the cup it says it comes from? More allergens than the cup's may be named, never fewer.
 * A sample from no cup is.
 */
export function isAsInVocabulary(
  sample: SampleInput,
  vocabulary: Pick<Vocabulary, 'words' | 'families'>,
): boolean {
  const { spike, spikeDose, spikeReference, spikeAllergens } = sample;
  if (!spikeReference) return true;
  const cup = spikeCups(vocabulary).find(
    ({ reference }) => reference.wordId === spikeReference.wordId && reference.own === spikeReference.own,
  );
  if (!cup || !spikeDose || spike !== spikeText(cup)) return false;
  const { reference, dose } = cup;
  const named = spikeAllergens ?? [];
  return (
    (['word', 'how', 'caution', 'abv'] as const).every((key) => reference[key] === spikeReference[key]) &&
    (['amount', 'unit', 'perMl'] as const).every((key) => dose[key] === spikeDose[key]) &&
    (cup.allergens ?? []).every((one) => named.includes(one))
  );
}
