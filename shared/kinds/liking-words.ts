/**
 * Nine steps of liking, from 1. That a hedonic scale has nine steps around a neutral middle is common practice, no source;
 * the words are our own.
 */
export const LIKING_WORDS: readonly string[] = [
  'dislike very much',
  'dislike clearly',
  'dislike somewhat',
  'dislike a little',
  'neither like nor dislike',
  'like a little',
  'like somewhat',
  'like clearly',
  'like very much',
];
