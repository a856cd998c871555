import type { Licence } from '@oddglass/shared/contracts/publication.ts';
import type { PublishedView } from '@oddglass/shared/contracts/publishing.ts';
import { LICENCES } from '@oddglass/shared/publication/citation.ts';

export type Version = PublishedView['versions'][number];

/** Where everything of one version of a publication is found, from the root of the site. */
export interface PublicationLinks {
  page: string;
  verify: string;
  package: string;
  /** Digest of the package, hex. */
  digest: string | null;
  /** Size and SHA-256 of the package as it is fetched; null where they are not known. */
  zip: { bytes: number; sha256: string } | null;
  result: string;
  citation: string;
  picture: string;
  /** The panel's public list; null where the publication is not in it. */
  list: string | null;
  feed: string | null;
}

/**
 * Links of a version. Files name their version always, so that a link that was written down stays with what it was written for;
 * the page without a version is the newest.
 */
export function linksOf(
  view: Pick<PublishedView, 'address' | 'listed' | 'panelId' | 'digest' | 'zip'>,
  versions: readonly Version[],
  version: number,
): PublicationLinks {
  const newest = versions.at(-1)?.version ?? version;
  const page = `/p/${view.address}`;
  const asked = `?version=${version}`;
  const here = version === newest ? '' : asked;
  return {
    page: page + here,
    verify: `${page}/verify${here}`,
    package: `/api${page}/package.zip${asked}`,
    digest: view.digest,
    zip: view.zip ?? null,
    result: `/api${page}/result.json${asked}`,
    citation: `/api${page}/CITATION.cff${asked}`,
    picture: `${page}/picture.png${asked}`,
    list: view.listed ? `/p/list/${view.panelId}` : null,
    feed: view.listed ? `/api/p/list/${view.panelId}/atom.xml` : null,
  };
}

/** The page's links to what belongs to it, for programs. Source: RFC 8288. */
export function linkHeader(links: PublicationLinks, licence: Licence): string {
  return [
    `<${links.page}>; rel="cite-as"`,
    `<${links.package}>; rel="item"; type="application/zip"`,
    `<${links.result}>; rel="alternate"; type="application/json"`,
    `<${links.citation}>; rel="describedby"; type="application/yaml"`,
    `<${LICENCES[licence].url}>; rel="license"`,
  ].join(', ');
}
