import type { VocabularyWord, WordThreshold } from '../contracts/vocabulary.ts';

const MILLIGRAMS: Readonly<Record<WordThreshold['unit'], number>> = {
  'g/L': 1000,
  'mg/L': 1,
  'µg/L': 0.001,
  'ng/L': 0.000001,
};

/** Milligrams per litre that `amount` of something brings to `drinkMl`, at `milligramsPer` unit of the amount. */
export function milligramsPerLitre({
  amount,
  milligramsPer,
  drinkMl,
}: {
  amount: number;
  milligramsPer: number;
  drinkMl: number;
}): number {
  return (amount * milligramsPer * 1000) / drinkMl;
}

/** What a dose is against a threshold of the same compound: least and most times, and the threshold. */
export interface TimesThreshold {
  readonly low: number;
  readonly high: number;
  readonly threshold: WordThreshold;
}

/**
 * How many times the threshold the reference cup of a word adds, where it adds a compound whose threshold in beer or wine
 * the word names; null otherwise. The drink's own share is not counted. The strongest threshold named is taken.
 */
export function timesThreshold({
  reference,
  thresholds,
}: Pick<VocabularyWord, 'reference' | 'thresholds'>): TimesThreshold | null {
  const adds = reference?.adds;
  if (!adds) return null;
  const same = thresholds.filter(
    ({ compound, medium, kind }) =>
      compound === adds.compound && (medium === 'beer' || medium === 'wine') && kind !== 'rejection',
  );
  const [threshold] = same.sort((a, b) => b.high * MILLIGRAMS[b.unit] - a.high * MILLIGRAMS[a.unit]);
  if (!threshold) return null;
  const unit = MILLIGRAMS[threshold.unit];
  return {
    low: adds.low / (threshold.high * unit),
    high: adds.high / (threshold.low * unit),
    threshold,
  };
}
