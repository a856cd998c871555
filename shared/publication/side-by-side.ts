import type { Publication, PublishedSession } from '../contracts/publication.ts';
import {
  replication,
  type Apart,
  type OriginalFigure,
  type Replication,
  type SideBySide,
} from '../contracts/replication.ts';
import { capital, plain } from '../ground/phrases.ts';
import { differenceOf, isDifferenceKind, isPartKind, KINDS } from '../kinds/kinds.ts';
import { compareDPrimes } from '../stats/discrimination/compare-d-prime.ts';
import { wilson } from '../stats/discrimination/proportion-interval.ts';
import { normalQuantile } from '../stats/normal.ts';
import { studentQuantile } from '../stats/student-t.ts';
import { figureInWords, limitsInWords } from '../analysis/forest/figure-words.ts';
import { effectsOf } from '../analysis/forest/effects.ts';

const LEVEL = 0.95;

type BesideRow = SideBySide['rows'][number];

/**
 * The tasting that a published session repeats, as its sealed settings say, beside what it found itself: null where it
 * repeats none. The original's figures are those of the imported package; nothing is fetched. Says what is compatible, and
 * never that a replication did or did not succeed.
 * Source: Zou & Donner 2008, Stat. Med. 27:1693 (two d-primes, and shares by Newcombe 1998, Stat. Med. 17:873, method 10);
 * Welch 1947 (means); from memory.
 */
export function sideBySide(
  { arms }: Pick<Publication, 'arms'>,
  session: Pick<PublishedSession, 'parts' | 'seal'>,
): SideBySide | null {
  const body = session.seal.leaves.find(({ kind }) => kind === 'settings')?.body;
  const read = replication.safeParse(body?.['replicates']);
  if (!read.success) return null;
  const { data } = read;
  const own = effectsOf(session, data.armIds);
  const nameOf = (place: number): string =>
    arms.find(({ id }) => id === data.armIds[place])?.name ?? 'an arm that is not told';
  const rows = data.figures.flatMap((original): BesideRow[] => {
    const mine = own.find((one) => keyOf(one) === keyOf(original));
    if (!mine) return [];
    const apart = apartOf(mine, original);
    return [
      {
        part: original.part,
        name: rowName(original, original.arms.map(nameOf)),
        measure: original.measure,
        original,
        own: mine,
        apart,
        reading: readingOf(mine, original, apart),
      },
    ];
  });
  const { armIds: _arms, figures: _figures, ...told } = data;
  return { replication: told, rows, notes: notesOf(data, rows) };
}

/** The same question of the same arms. A d-prime may be had by another test, since that is what it is for. */
const keyOf = ({ part, kind, measure, about, scale, arms }: OriginalFigure): string =>
  [part, measure === 'd-prime' ? '' : kind, measure, about.toLocaleLowerCase('en'), scale, ...arms].join('|');

function rowName({ kind, about }: OriginalFigure, arms: readonly string[]): string {
  const heading = isPartKind(kind) ? KINDS[kind].names.heading : kind;
  return `${heading}, ${arms.join(' and ')}${about === '' ? '' : `, “${about}”`}`;
}

function apartOf(own: OriginalFigure, original: OriginalFigure): Apart | null {
  if (own.effect === null || original.effect === null) return null;
  const estimate = own.effect - original.effect;
  if (own.measure === 'd-prime') {
    const counted = countedDPrimes(own, original);
    return counted ?? byErrors(estimate, own, original);
  }
  if (own.measure === 'share') return byShares(estimate, own, original);
  return byErrors(estimate, own, original);
}

/** One answer from each person, and answers that can be right: the likelihood of the counts themselves. */
function countedDPrimes(own: OriginalFigure, original: OriginalFigure): Apart | null {
  const [first, second] = [own, original].map((one) => {
    const part = { kind: one.kind };
    return one.counted === null || one.counted > one.n || !isDifferenceKind(part)
      ? null
      : {
          test: differenceOf(part as Parameters<typeof differenceOf>[0]).test.stats,
          correct: one.counted,
          n: one.n,
        };
  });
  if (!first || !second) return null;
  const { difference, lower, upper, level } = compareDPrimes({ first, second, level: LEVEL });
  return difference === null ? null : { estimate: difference, lower, upper, level, by: 'likelihood' };
}

function byShares(estimate: number, own: OriginalFigure, original: OriginalFigure): Apart | null {
  if (own.counted === null || original.counted === null || original.counted > original.n) return null;
  const one = wilson({ correct: own.counted, n: own.n, level: LEVEL });
  const two = wilson({ correct: original.counted, n: original.n, level: LEVEL });
  const [a, b] = [own.counted / own.n, original.counted / original.n];
  return {
    estimate,
    lower: estimate - Math.hypot(a - one.lower, two.upper - b),
    upper: estimate + Math.hypot(one.upper - a, b - two.lower),
    level: LEVEL,
    by: 'score',
  };
}

/** By both standard errors; with their degrees of freedom as Welch has it, where both have some. */
function byErrors(estimate: number, own: OriginalFigure, original: OriginalFigure): Apart | null {
  const [one, two] = [own.standardError, original.standardError];
  if (one === null || two === null || one + two === 0) return null;
  const error = Math.hypot(one, two);
  const df =
    own.df === null || original.df === null
      ? null
      : error ** 4 / (one ** 4 / own.df + two ** 4 / original.df);
  const p = (1 + LEVEL) / 2;
  const reach = (df === null ? normalQuantile(p) : studentQuantile(p, df)) * error;
  return { estimate, lower: estimate - reach, upper: estimate + reach, level: LEVEL, by: 'error' };
}

const UNITS = { 'd-prime': 'd-primes', share: 'shares', marks: 'differences of means' } as const;

function readingOf(own: OriginalFigure, original: OriginalFigure, apart: Apart | null): string {
  const what = UNITS[own.measure];
  const other =
    own.kind === original.kind
      ? ''
      : ` The original asked by another test (${original.kind}): d-primes of two tests can be compared, as far as people used the rule of each.`;
  if (!apart) {
    return `How far the two ${what} lie apart cannot be given with an interval: one of them is without a bound, or is told without its error.${other}`;
  }
  const { estimate, lower, upper, level } = apart;
  const limits = limitsInWords(lower, upper, own.measure) ?? 'without limits';
  const told = `This one less the original: ${signed(estimate, own.measure)} (${Math.round(level * 100)} % interval ${limits}).`;
  const holdsZero = (lower === null || lower <= 0) && (upper === null || upper >= 0);
  return holdsZero
    ? `${told} The two are compatible with one and the same size, and with any difference within that interval.${other}`
    : `${told} Both together are hardly compatible with one and the same size. Batch, people and serving differ between them as well, and which of these it was cannot be told.${other}`;
}

function signed(value: number, measure: OriginalFigure['measure']): string {
  if (measure === 'share') return `${plain(value * 100, 0)} points of per cent`;
  return `${value > 0 ? '+' : ''}${figureInWords(value, measure)}`;
}

function notesOf({ figures, digest }: Replication, rows: readonly BesideRow[]): string[] {
  if (figures.length === 0) {
    return ['Only the protocol of the original was imported, so none of its figures is at hand here.', FIXED];
  }
  const left = figures.length - rows.length;
  return [
    ...(left > 0
      ? [
          `${capital(left === 1 ? 'one figure' : `${left} figures`)} of the original ${left === 1 ? 'has' : 'have'} nothing beside ${left === 1 ? 'it' : 'them'}: it was asked otherwise here, or is not told.`,
        ]
      : []),
    FIXED,
    `The figures of the original are those of the imported package${digest === null ? '' : `, whose digest is ${digest}`}: compare it with the one on its page.`,
    'Intervals take the people of the two tastings for different ones.',
  ];
}

const FIXED =
  'What is repeated was chosen before this tasting and sealed with its plan, so it was not chosen by the result.';
