import { isDoi, isMail, type Relation } from '../contracts/deposit.ts';
import type { Publication } from '../contracts/publication.ts';
import type { PartResult } from '../contracts/result.ts';
import type { Json } from '../design/canonical-json.ts';
import { listed } from '../ground/phrases.ts';
import { kindOf } from '../kinds/kinds.ts';

// What archives and data-set search engines ask of a publication, from what it tells.

/** Where a DOI, or an address, is looked up. */
export const addressOf = (identifier: string): string =>
  isDoi(identifier) ? `https://doi.org/${identifier}` : identifier;

/** Address of the DOI of a publication; null where it has none. */
export const doiAddress = ({ deposit }: Publication): string | null =>
  deposit?.doi === undefined ? null : addressOf(deposit.doi);

/** Contact of a publication as an e-mail address or a page; null where none was given. */
export function contactOf({ deposit }: Publication): { email: string } | { page: string } | null {
  const contact = deposit?.contact;
  if (contact === undefined) return null;
  return isMail(contact) ? { email: contact } : { page: contact };
}

/** By which property of schema.org another work stands to this one. */
const PROPERTY: Readonly<Record<Relation, 'citation' | 'isBasedOn' | 'isPartOf' | 'subjectOf'>> = {
  References: 'citation',
  IsSupplementTo: 'citation',
  IsDerivedFrom: 'isBasedOn',
  Continues: 'isBasedOn',
  IsPartOf: 'isPartOf',
  IsDocumentedBy: 'subjectOf',
};

/** Addresses of related works, by property of schema.org. */
export function relatedByProperty({ deposit }: Publication): Map<string, string[]> {
  const found = new Map<string, string[]>();
  for (const { relation, identifier } of deposit?.related ?? []) {
    const property = PROPERTY[relation];
    found.set(property, [...(found.get(property) ?? []), addressOf(identifier)]);
  }
  return found;
}

/** Whom to name beside the data, in a line. */
export const creditText = ({ panel, publishedOn, licence }: Publication): string =>
  `${panel}, ${publishedOn.slice(0, 4)}, ${licence}`;

/** What assessors agreed to, as far as the publication shows it; what nobody wrote down is said to be so. */
export function consentStatement({ sessions, publishedOn }: Publication): string {
  const open = sessions.filter(({ rows }) => rows !== null).map(({ number }) => String(number));
  const closed = sessions.filter(({ rows }) => rows === null).map(({ number }) => String(number));
  const small = sessions.some(({ tier }) => tier === 'agreed');
  return [
    `Figures are of those who answered and had not taken their answers back by ${publishedOn}. No assessor is named.`,
    ...(open.length > 0
      ? [
          `Answers of single people are given, under labels drawn for this version, for session ${listed(open)}, where everybody who answered agreed to that at the seat.`,
        ]
      : []),
    ...(closed.length > 0 ? [`Answers of single people are not given for session ${listed(closed)}.`] : []),
    ...(small
      ? [
          'Fewer than five people answered in one session at least: each of them agreed to be told as so small a group.',
        ]
      : []),
    'An approval by an ethics committee was not recorded.',
  ].join(' ');
}

interface Measured {
  name: string;
  unit: string;
  /** Ends of a scale, in words. */
  ends?: string;
  least?: number;
  most?: number;
}

/** What was measured, each once. */
export function variablesMeasured({ sessions }: Publication): Json[] {
  const all = sessions
    .flatMap(({ parts }) => parts.flatMap(measuredIn))
    .map(({ name, unit, ends, least, most }): Json => ({
      '@type': 'PropertyValue',
      name,
      unitText: unit,
      ...(ends !== undefined && { description: ends }),
      ...(least !== undefined && { minValue: least }),
      ...(most !== undefined && { maxValue: most }),
    }));
  return [...new Map(all.map((one) => [JSON.stringify(one), one])).values()];
}

function measuredIn(part: PartResult): Measured[] {
  switch (part.kind) {
    case 'rating':
      return part.attributes.map(({ name, low, high }) => ({
        name,
        ends: `from ${low} to ${high}`,
        ...scaleOf(part.settings.scale),
      }));
    case 'liking':
      return [{ name: 'liking', ...scaleOf('nine-point') }];
    case 'control':
      return [
        {
          name: 'difference from control',
          unit: `degrees from 0 to ${part.settings.degrees.length - 1}`,
          ends: part.settings.degrees.join(', '),
          least: 0,
          most: part.settings.degrees.length - 1,
        },
      ];
    case 'ranking':
      return [{ name: `rank by ${part.settings.attribute}`, unit: 'ranks from least' }];
    case 'description':
      return [{ name: 'words checked', unit: 'answers' }];
    case 'same-different':
      return [{ name: 'pairs called different', unit: 'answers' }];
    case 'preference':
      return [{ name: 'preference', unit: 'answers' }];
    default:
      return [{ name: `${kindOf(part).names.heading}: ${part.outcome.counted}`, unit: 'answers' }];
  }
}

/** Unit and ends of a scale on which cups are marked. */
export function scaleOf(scale: 'line' | 'nine-point'): { unit: string; least: number; most: number } {
  return scale === 'line'
    ? { unit: 'points of a line from 0 to 100', least: 0, most: 100 }
    : { unit: 'points from 1 to 9', least: 1, most: 9 };
}
