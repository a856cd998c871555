import type { Board } from '@oddglass/shared/contracts/board.ts';

type BoardSite = NonNullable<Board['sites']>[number];

const STANDING_WORDS: Readonly<Record<BoardSite['standing'], string>> = {
  here: 'answers here',
  elsewhere: 'tasted on another server, ballots still to come',
  joined: 'tasted on another server, ballots are in',
};

/** Which seats a place has, and where its people answer. */
export const siteWords = ({ first, last, standing }: BoardSite): string =>
  `${first === last ? `seat ${first}` : `seats ${first} to ${last}`}, ${STANDING_WORDS[standing]}`;

/** Places whose ballots were not brought yet. */
export const sitesMissing = ({ sites = [] }: Pick<Board, 'sites'>): string[] =>
  sites.filter(({ standing }) => standing === 'elsewhere').map(({ name }) => name);
