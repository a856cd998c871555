import type { EntryStep, PaperState } from '../contracts/paper.ts';
import type { PaperEntry } from '../contracts/session.ts';
import { sameEntry } from './field.ts';
import type { PaperValues } from './answers.ts';
import { placesOf, type PaperForm } from './form.ts';

export interface Entry {
  step: EntryStep;
  values: PaperValues;
}

export interface Standing<E extends Entry> {
  state: PaperState;
  /** What may be entered next. */
  due: EntryStep;
  /** The entry that counts; null while none does. */
  counting: E | null;
  /** The two that differ, and the ids of the places where they do; null where none do. */
  differing: { first: E; second: E; ids: string[] } | null;
}

/**
 * How a ballot on paper stands.
 *
 * @param entries of the ballot, first to last
 */
export function paperStanding<E extends Entry>(
  form: PaperForm,
  entries: readonly E[],
  wanted: PaperEntry,
): Standing<E> {
  const first = entries.find(({ step }) => step === 'first');
  const second = entries.find(({ step }) => step === 'second');
  const last = entries.findLast(({ step }) => step === 'settled' || step === 'corrected');
  if (!first) return { state: 'waiting', due: 'first', counting: null, differing: null };
  if (last) return counts(last);
  if (wanted === 'once') return counts(first);
  if (!second) return { state: 'once', due: 'second', counting: null, differing: null };
  const ids = differences(form, first.values, second.values);
  // Where they are the same but for spelling, the second had the first to be judged by.
  if (ids.length === 0) return counts(first);
  return { state: 'differs', due: 'settled', counting: null, differing: { first, second, ids } };
}

const counts = <E extends Entry>(entry: E): Standing<E> => ({
  state: 'counts',
  due: 'corrected',
  counting: entry,
  differing: null,
});

/** Ids of the places at which two entries say different things, in the order of the sheet. */
export function differences(form: PaperForm, a: PaperValues, b: PaperValues): string[] {
  return placesOf(form)
    .flatMap(({ fields }) => fields)
    .filter((field) => !sameEntry(field, a[field.id] ?? '', b[field.id] ?? ''))
    .map(({ id }) => id);
}
