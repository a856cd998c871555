import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import type { PublicationLinks } from '#lib/publication/links.ts';

/** Links of a publication that lies in a folder: all beside it, nothing on a server. */
export const folderLinks = ({ digest, zip }: Pick<PublishedView, 'digest' | 'zip'>): PublicationLinks => ({
  page: 'index.html',
  verify: 'verify.html',
  package: 'package.zip',
  digest,
  zip: zip ?? null,
  result: 'result.json',
  citation: 'CITATION.cff',
  picture: 'picture.png',
  list: null,
  feed: 'feed.xml',
});
