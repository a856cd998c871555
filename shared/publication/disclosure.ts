import type { DisclosureTier } from '../contracts/publication.ts';

/**
 * Every protection by name; all of them are on in whatever is published. Only the attack test switches one off at a time, to
 * show that each is needed. What has no place in the format at all (answers by person, seats, times of answers, agreement
 * of single people) needs no switch.
 */
export const PROTECTIONS = {
  /** People get labels drawn anew for each publication, session and version. */
  freshPseudonyms: true,
  /** Rows stand in random order. */
  shuffledRows: true,
  /** Of times only the month is told, and sessions of one month stand in random order. */
  coarseTimes: true,
  /** What is told depends on how many people answered; below five only what everybody agreed to. */
  panelTiers: true,
  /** Rows only if every person in them said yes. */
  rowsByConsent: true,
  /** No place, order, code or replicate stands in a row, and no row tells which cup of a tray it is about. */
  noPlacesInRows: true,
  /** Where people had different cups, rows of different cups are not joined: the cups would tell the tray. */
  unlinkedCups: true,
  /** Labels join no parts where somebody left one out, and line marks do not tell how they were put in. */
  labelsByPart: true,
  /** Groups below a threshold, and small ones that are all or none, are not told. */
  smallGroups: true,
  /** More groups and tables are withheld until all that is told together does not give away a withheld one. */
  complementary: true,
  /** Words given by fewer than three people are not told. */
  rareWords: true,
  /** Comments and words of one's own are left out unless the host passed the line. */
  freeTextOff: true,
  /** The leaves of the seal that say who sat where stay closed. */
  closedSeating: true,
  /** Withdrawals reach a new version three at a time, and never where they all said the same. */
  batchedWithdrawals: true,
} as const satisfies Record<string, boolean>;
export type Protection = keyof typeof PROTECTIONS;
export type Protections = Readonly<Record<Protection, boolean>>;

/** From this many people on: full aggregates, intervals, and rows. Common practice in statistical offices; no source. */
export const FULL_FROM = 10;
/** Below this many people nothing is told without everybody's agreement. Common practice; no source. */
export const AGREED_BELOW = 5;
/**
 * A group in a table is told from three people on: a minimum frequency rule, Hundepool et al. 2012, Statistical Disclosure
 * Control (from memory), where three is the least value in use.
 */
export const MIN_GROUP = 3;
/**
 * A group of fewer that is all or none is blurred, also when it is so to one of its own people; where a tray tells who is in
 * the group, it is at any size. Our own bound; no source. A group that is all alike tells of everybody in it: homogeneity,
 * Machanavajjhala et al. 2007, ACM Transactions on Knowledge Discovery from Data 1:3 (from memory).
 */
export const BLUR_BELOW = 5;
/** People who must have given a word before it is told. The same frequency rule. */
export const MIN_GIVERS = 3;
/** People who must have left since the last version. Two leaving would know of each other; common practice, no source. */
export const MIN_BATCH = 3;

/** What may be told of so many people; null for none. */
export function tierOf(people: number): DisclosureTier | null {
  if (people === 0) return null;
  if (people >= FULL_FROM) return 'full';
  return people >= AGREED_BELOW ? 'coarse' : 'agreed';
}

/** Why something may not be published, with the field of the input it depends on. */
export class PublicationRefused extends Error {
  /** Path in the input of `assemblePublication`, as 'sessions.0.withdrawn'. */
  readonly field: string;
  readonly reason: RefusalReason;

  constructor(field: string, reason: RefusalReason, message: string) {
    super(message);
    this.name = 'PublicationRefused';
    this.field = field;
    this.reason = reason;
  }
}

/**
 * rehearsal: nothing was tasted. empty: nobody answered. small: below five people without everybody's yes. withdrawals: one or two left since the last
 * version. subtraction: the last version less this one would tell what those who left said. seal: leaves are not those of
 * the root. arms, answers, comment: a choice of the host is missing or does not fit. version: not the next one. kind: no
 * rule says what may be told of such a part. invalid: does not fit the published format.
 */
export type RefusalReason =
  | 'rehearsal'
  | 'empty'
  | 'small'
  | 'withdrawals'
  | 'subtraction'
  | 'seal'
  | 'arms'
  | 'answers'
  | 'comment'
  | 'version'
  | 'kind'
  | 'invalid';

/** How much was withheld, counted while a publication is put together. */
export interface Withheld {
  /** Cells of tables: groups, pairs, means. */
  cells: number;
  /** Different words. */
  words: number;
  /** Comments, and words of assessors' own. */
  lines: number;
  /** Parts with too few answers. */
  parts: number;
}

export function nothingWithheld(): Withheld {
  return { cells: 0, words: 0, lines: 0, parts: 0 };
}
