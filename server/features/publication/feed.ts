import type { PublicList } from '@oddglass/shared/contracts/publishing.ts';

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
};
const escaped = (text: string): string => text.replaceAll(/[&<>"]/g, (char) => ESCAPES[char] ?? char);

/**
 * What a panel published, as an Atom feed. Withdrawn publications are left out.
 * Source: RFC 4287, The Atom Syndication Format.
 */
export function atomFeed(list: PublicList, updatedAt: Date, origin: string): string {
  const page = `${origin}/p/list/${list.panelId}`;
  return [
    '<?xml version="1.0" encoding="utf-8"?>',
    '<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="en">',
    `  <id>urn:uuid:${list.panelId}</id>`,
    `  <title>${escaped(list.panel)}</title>`,
    `  <updated>${updatedAt.toISOString()}</updated>`,
    `  <author><name>${escaped(list.panel)}</name></author>`,
    `  <link rel="self" type="application/atom+xml" href="${escaped(`${origin}/api/p/list/${list.panelId}/atom.xml`)}"/>`,
    `  <link rel="alternate" type="text/html" href="${escaped(page)}"/>`,
    ...list.publications.flatMap((entry) => entryOf(entry, origin)),
    '</feed>',
    '',
  ].join('\n');
}

function entryOf(entry: PublicList['publications'][number], origin: string): string[] {
  const { address, state, title, headline, demo, version, publishedOn } = entry;
  if (state === 'withdrawn' || title === null) return [];
  const link = escaped(`${origin}/p/${address}`);
  const invented = demo ? 'Invented demo data. ' : '';
  return [
    '  <entry>',
    // The address never leads to anything else, so it names the entry through all versions.
    `    <id>${link}</id>`,
    `    <title>${escaped(title)}</title>`,
    `    <updated>${publishedOn}T00:00:00Z</updated>`,
    `    <link rel="alternate" type="text/html" href="${link}"/>`,
    `    <summary>${escaped(`${invented}${headline ?? ''} Version ${version}.`)}</summary>`,
    '  </entry>',
  ];
}
