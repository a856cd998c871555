import type { PublicationLinks } from '#lib/publication/links.ts';

/** Links of a publication that lies in a folder: all beside it, nothing on a server. */
export const folderLinks = (digest: string | null): PublicationLinks => ({
  page: 'index.html',
  verify: 'verify.html',
  package: 'package.zip',
  digest,
  result: 'result.json',
  citation: 'CITATION.cff',
  picture: 'picture.png',
  list: null,
  feed: 'feed.xml',
});
