import { getContext, setContext } from 'svelte';

/** What readers of a publication get of a part; a host's own page has no such context and gets all of it. */
export interface Told {
  /** Means and ranks stand rounded, since fewer than ten people answered. */
  coarse: boolean;
  /** Tables and figures that there are and that are not told, or not whole; null: from before that was told. */
  untold: ReadonlySet<string> | null;
}

const KEY = Symbol('what readers are told');

export function setTold(told: () => Told): void {
  setContext(KEY, told);
}

/** What readers are told of this part; null on the host's own page. */
export function told(): () => Told | null {
  return getContext<(() => Told) | undefined>(KEY) ?? (() => null);
}

/** How much of a table stands on the page. */
export type Standing = 'whole' | 'part' | 'withheld' | 'unknown';

/**
 * Is a table withheld, in part or whole? `rows` are those that are left; 'unknown' is a publication from before that was told, in which
 * nothing is left: there may have been nothing.
 */
export function standingOf(given: Told | null, figure: string, rows: number): Standing {
  if (given === null) return 'whole';
  if (given.untold === null) return rows === 0 ? 'unknown' : 'whole';
  if (!given.untold.has(figure)) return 'whole';
  return rows === 0 ? 'withheld' : 'part';
}

/** The word for a figure that does not stand: 'withheld' where there is one, 'none' where there is none. */
export function gapWord(given: Told | null, figure: string): string {
  if (given === null) return 'none';
  if (given.untold === null) return given.coarse ? 'not told' : 'none';
  return given.untold.has(figure) ? 'withheld' : 'none';
}

// The first name that begins the place of a figure says what it is.
const NAMES: readonly (readonly [string, string])[] = [
  ['confidence', 'answers by confidence'],
  ['positions', 'choices by place'],
  ['orders', 'answers by order'],
  ['references', 'answers by reference'],
  ['descriptors', 'words that told the arms apart'],
  ['replicates.perAssessor', 'how often each person was right over repeated trays'],
  ['posterior', 'the probability that the share matters'],
  ['words.shares.intensity', 'how strong some words were'],
  ['words.pairs', 'words between pairs of samples'],
  ['words', 'words that few people gave'],
  ['unchecked', 'which words nobody checked'],
  ['late.words.beside', 'what stayed and what came later'],
  ['late', 'late words that few people gave'],
  ['map', 'the map of samples and words'],
  ['liking', 'words beside liking'],
  ['duplicates', 'the same sample twice'],
  ['samples.rankSum', 'rank sums'],
  ['samples.ranks', 'how often each rank was given'],
  ['samples.none', 'who checked no word'],
  ['pairs.different', 'how many pairs were said to differ'],
  ['pairs.same', 'how many pairs were said to differ'],
  ['pairs', 'pairs of samples'],
  ['dPrime', 'how large the difference is'],
  ['agreement', 'agreement on the order'],
  ['test', 'some statistics of the test'],
  ['comparisons', 'some comparisons with the hidden control'],
];
const OF_MARKS: readonly (readonly [string, string])[] = [
  ['positions', 'marks by position'],
  ['samples.counts', 'how often each mark was given'],
  ['pairs', 'pairs of samples'],
  ['ranks.pairs', 'pairs by ranks'],
  ['ranks', 'the statistic of ranks'],
  ['spread', 'spread and size of effect'],
  ['effect', 'spread and size of effect'],
  ['checks', 'residual checks'],
  ['cautions', 'residual checks'],
  ['link', 'the model of ordered categories'],
  ['repeatability', 'repeatability'],
];

/** What is withheld of a part, each once, in the words of a reader; empty where nothing is. */
export function untoldInWords({ untold }: Told): string[] {
  const words = [...(untold ?? [])].map((figure) => {
    if (figure === 'attributes') return 'attributes with too few marks';
    const marks = /^(?:attributes|figures)\.(.*)$/.exec(figure)?.[1];
    const table = marks === undefined ? NAMES : OF_MARKS;
    const place = marks ?? figure;
    return (
      table.find(([start]) => place === start || place.startsWith(`${start}.`))?.[1] ?? 'further figures'
    );
  });
  return [...new Set(words)];
}
