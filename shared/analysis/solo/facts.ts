import { howMany, inWords } from '../../ground/phrases.ts';
import type { SoloState } from '../../rules/solo.ts';

/** What the record knows of a series besides its answers. */
export interface SoloFacts {
  /** Entries of what stood where that were put right later. */
  putRight: number;
  /** What stands between the arms besides the factor, in words. */
  fairTest: readonly string[];
}

const trays = (count: number): string => `${inWords(count)} ${count === 1 ? 'tray' : 'trays'}`;

/** Trays that do not count, by when that was known. */
export function uncounted({ trays: all }: Pick<SoloState, 'trays'>): { leftOut: number; otherwise: number } {
  return {
    leftOut: all.filter(({ answer }) => answer?.kind === 'left-out').length,
    otherwise: all.filter(({ stood }) => stood?.asPlanned === false).length,
  };
}

/** What has to be said of every series: one palate, one pair of hands, and what did not go as planned. */
export function caveatsOfSolo(state: SoloState, { putRight, fairTest }: SoloFacts): string[] {
  const { leftOut, otherwise } = uncounted(state);
  const unanswered = state.trays.filter(({ answer }) => answer === null).length;
  const lines = state.settings.kind !== 'rating' && state.settings.stopping === 'by-lines';
  return [
    'One palate: it says nothing of how many others would notice.',
    'The same person poured, shuffled, tasted and wrote down what stood where. Nobody else saw it, and it rests on a shuffle that the eyes could not follow.',
    ...(lines
      ? ['Each tray was turned before the next was poured, so that the palate learned as it went.']
      : []),
    ...(unanswered > 0 && state.ended
      ? [
          `It was ended with ${trays(unanswered)} still to come, before the cups of those answered were turned.`,
        ]
      : []),
    ...(leftOut > 0 ? [`${cap(trays(leftOut))} left out before anything was turned.`] : []),
    ...(otherwise > 0
      ? [`${cap(trays(otherwise))} turned out to be poured otherwise and does not count.`]
      : []),
    ...(putRight > 0
      ? [
          `What stood where was put right ${howMany(putRight)} ${putRight === 1 ? 'time' : 'times'}; every entry is kept.`,
        ]
      : []),
    ...fairTest,
  ];
}

const cap = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
