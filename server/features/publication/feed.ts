import { createHash } from 'node:crypto';
import type { PublicList } from '@oddglass/shared/contracts/publishing.ts';

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
};
const escaped = (text: string): string => text.replaceAll(/[&<>"]/g, (char) => ESCAPES[char] ?? char);

export interface FeedLinks {
  /** Where the feed itself is found; left out where nobody knows. */
  self?: string;
  page: string;
  of: (address: string) => string;
}

const LAST_SECOND = 86_399;

/** A day with a number in its seconds, for an order within the day: times of day are not published. */
export function momentOf(day: string, order: number): string {
  const second = new Date(Date.parse(`${day}T00:00:00Z`) + Math.min(order, LAST_SECOND) * 1000);
  return second.toISOString().replace('.000Z', 'Z');
}

/**
 * A name of an address that no host, proxy or move changes (RFC 4287, section 4.2.6), since an address never leads to
 * anything else: a UUID by name within the panel's (RFC 9562, section 5.5).
 */
function nameOf(panelId: string, address: string): string {
  const hash = createHash('sha1')
    .update(Buffer.from(panelId.replaceAll('-', ''), 'hex'))
    .update(address)
    .digest();
  hash[6] = ((hash[6] ?? 0) & 0x0f) | 0x50;
  hash[8] = ((hash[8] ?? 0) & 0x3f) | 0x80;
  const hex = hash.toString('hex');
  const parts = [
    [0, 8],
    [8, 12],
    [12, 16],
    [16, 20],
    [20, 32],
  ].map(([from, to]) => hex.slice(from, to));
  return `urn:uuid:${parts.join('-')}`;
}

/**
 * What a panel published, as an Atom feed. Withdrawn publications are left out.
 * Source: RFC 4287, The Atom Syndication Format.
 */
export function atomFeed(list: PublicList, updated: string, links: FeedLinks): string {
  return [
    '<?xml version="1.0" encoding="utf-8"?>',
    '<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="en">',
    `  <id>urn:uuid:${list.panelId}</id>`,
    `  <title>${escaped(list.panel)}</title>`,
    `  <updated>${updated}</updated>`,
    `  <author><name>${escaped(list.panel)}</name></author>`,
    ...(links.self === undefined
      ? []
      : [`  <link rel="self" type="application/atom+xml" href="${escaped(links.self)}"/>`]),
    `  <link rel="alternate" type="text/html" href="${escaped(links.page)}"/>`,
    ...list.publications.flatMap((entry) => entryOf(entry, list.panelId, links)),
    '</feed>',
    '',
  ].join('\n');
}

function entryOf(entry: PublicList['publications'][number], panelId: string, links: FeedLinks): string[] {
  const { address, state, title, headline, demo, version, publishedOn } = entry;
  if (state === 'withdrawn' || title === null) return [];
  const link = escaped(links.of(address));
  const invented = demo ? 'Invented demo data. ' : '';
  return [
    '  <entry>',
    `    <id>${nameOf(panelId, address)}</id>`,
    `    <title>${escaped(title)}</title>`,
    `    <updated>${momentOf(publishedOn, version)}</updated>`,
    `    <link rel="alternate" type="text/html" href="${link}"/>`,
    `    <summary>${escaped(`${invented}${headline ?? ''} Version ${version}.`)}</summary>`,
    '  </entry>',
  ];
}
