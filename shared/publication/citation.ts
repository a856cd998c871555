import type { Licence, Publication } from '../contracts/publication.ts';
import { publicationHeadline } from './card.ts';
import type { Json } from '../design/canonical-json.ts';
import { contactOf, creditText, doiAddress, relatedByProperty, variablesMeasured } from './deposit.ts';

/** Name for people and canonical address of each licence. */
export const LICENCES: Readonly<Record<Licence, { title: string; url: string }>> = {
  'CC-BY-4.0': {
    title: 'Creative Commons Attribution 4.0 International',
    url: 'https://creativecommons.org/licenses/by/4.0/',
  },
  'CC0-1.0': {
    title: 'Creative Commons Zero 1.0 Universal',
    url: 'https://creativecommons.org/publicdomain/zero/1.0/',
  },
};

/** The title, with the word that the data are invented wherever they are. */
export function citedTitle({ title, demo }: Publication): string {
  return demo ? `${title} (invented demo data)` : title;
}

/** What it is in a paragraph: what was found first, then question, factor and arms. */
export function abstractOf(publication: Publication): string {
  const { question, factor, arms } = publication;
  const names = arms.map(({ name }) => name).join(', ');
  const invented = publication.demo ? 'Invented demo data. ' : '';
  return `${invented}${publicationHeadline(publication)} Question: ${question} Factor: ${factor}. Arms: ${names}. Blind tasting of a fermentation trial.`;
}

/** A line to cite it by, without an address where none is known. The panel stands as author: no person is named. */
export function howToCite(publication: Publication, url: string | null): string {
  const { panel, publishedOn, version, licence, sessions } = publication;
  const seals = sessions.map(({ seal }) => seal.fingerprint).join(', ');
  const address = doiAddress(publication) ?? url;
  return `${panel} (${publishedOn.slice(0, 4)}): ${citedTitle(publication)}. Data set, version ${version}, published ${publishedOn}.${address === null ? '' : ` ${address}`} (${LICENCES[licence].title}; seal ${seals}).`;
}

function keywordsOf({ factor, sessions, demo }: Publication): string[] {
  const kinds = sessions.flatMap(({ parts }) => parts.map(({ kind }) => kind));
  return [
    ...new Set(['blind tasting', 'fermentation', factor, ...kinds, ...(demo ? ['invented data'] : [])]),
  ];
}

// A JSON string is a YAML double-quoted scalar too (YAML 1.2, section 1.3), so nothing in a title can end it.
const quoted = (value: string): string => JSON.stringify(value);

/** CITATION.cff, with the panel as an entity. Source: Citation File Format 1.2.0. */
export function citationFile(publication: Publication, url: string | null): string {
  const { panel, publishedOn, version, licence, sessions } = publication;
  return [
    'cff-version: 1.2.0',
    'message: "Please cite these data as below."',
    'type: dataset',
    `title: ${quoted(citedTitle(publication))}`,
    `abstract: ${quoted(abstractOf(publication))}`,
    'authors:',
    `  - name: ${quoted(panel)}`,
    `version: ${quoted(String(version))}`,
    `date-released: ${quoted(publishedOn)}`,
    `license: ${licence}`,
    ...(url === null ? [] : [`url: ${quoted(url)}`]),
    ...depositLines(publication),
    'keywords:',
    ...keywordsOf(publication).map((word) => `  - ${quoted(word)}`),
    'identifiers:',
    ...sessions.flatMap(({ number, seal }) => [
      '  - type: other',
      `    value: ${quoted(`sha256:${seal.root}`)}`,
      `    description: ${quoted(`Root of the seal of session ${number}`)}`,
    ]),
    '',
  ].join('\n');
}

/** DOI, and where to ask: the panel, for no person is named. */
function depositLines(publication: Publication): string[] {
  const contact = contactOf(publication);
  const doi = publication.deposit?.doi;
  return [
    ...(doi === undefined ? [] : [`doi: ${quoted(doi)}`]),
    ...(contact
      ? [
          'contact:',
          `  - name: ${quoted(publication.panel)}`,
          'email' in contact ? `    email: ${quoted(contact.email)}` : `    website: ${quoted(contact.page)}`,
        ]
      : []),
  ];
}

/** A data package as it is fetched. */
export interface FetchedPackage {
  url: string;
  /** Of the ZIP; left out where they are not known. */
  bytes?: number | undefined;
  sha256?: string | undefined;
}

/**
 * The publication as a Dataset for search engines. Source: schema.org/Dataset.
 * @param url address of the page; @param fetched its data package; @param list the panel's list, where it stands in it.
 */
export function schemaOrgDataset(
  publication: Publication,
  url: string,
  fetched: FetchedPackage | null = null,
  list: string | null = null,
): Record<string, Json> {
  const { panel, publishedOn, version, licence, sessions } = publication;
  const months = sessions.map(({ heldIn }) => heldIn).sort();
  const [first = '', last = ''] = [months[0], months.at(-1)];
  return {
    '@context': 'https://schema.org',
    '@type': 'Dataset',
    '@id': url,
    url,
    name: citedTitle(publication),
    description: abstractOf(publication).slice(0, 5000),
    version: String(version),
    datePublished: publishedOn,
    temporalCoverage: first === last ? first : `${first}/${last}`,
    license: LICENCES[licence].url,
    creator: { '@type': 'Organization', name: panel },
    publisher: publisherOf(publication),
    creditText: creditText(publication),
    variableMeasured: variablesMeasured(publication),
    ...relatedOf(publication, list),
    isAccessibleForFree: true,
    inLanguage: 'en',
    keywords: keywordsOf(publication),
    measurementTechnique: [...new Set(sessions.flatMap(({ parts }) => parts.map(({ kind }) => kind)))],
    citation: howToCite(publication, url),
    identifier: [
      ...[doiAddress(publication)].filter((one) => one !== null),
      ...sessions.map(({ seal }) => ({
        '@type': 'PropertyValue',
        propertyID: 'sha256',
        name: 'Root of the seal',
        value: seal.root,
      })),
    ],
    ...(fetched && { distribution: [downloadOf(fetched)] }),
  };
}

function publisherOf(publication: Publication): Json {
  const contact = contactOf(publication);
  return {
    '@type': 'Organization',
    name: publication.panel,
    ...(contact && {
      contactPoint: {
        '@type': 'ContactPoint',
        contactType: 'questions about these data',
        ...('email' in contact ? { email: contact.email } : { url: contact.page }),
      },
    }),
  };
}

/** Works that the host named, and the list of the panel. `citation` says how to cite this one, and is left to that. */
function relatedOf(publication: Publication, list: string | null): Record<string, Json> {
  const named = relatedByProperty(publication);
  const catalogue = list === null ? [] : [{ '@type': 'DataCatalog', url: list, name: publication.panel }];
  const partOf = (named.get('isPartOf') ?? []).map((url) => ({ '@type': 'CreativeWork', url }));
  const basedOn = named.get('isBasedOn') ?? [];
  const mentions = named.get('citation') ?? [];
  const subjectOf = named.get('subjectOf') ?? [];
  return {
    ...(basedOn.length > 0 && { isBasedOn: basedOn }),
    ...(partOf.length > 0 && { isPartOf: partOf }),
    ...(catalogue.length > 0 && { includedInDataCatalog: catalogue }),
    ...(mentions.length > 0 && { mentions }),
    ...(subjectOf.length > 0 && { subjectOf }),
  };
}

const downloadOf = ({ url, bytes, sha256 }: FetchedPackage): Json => ({
  '@type': 'DataDownload',
  encodingFormat: 'application/zip',
  contentUrl: url,
  ...(bytes !== undefined && { contentSize: `${bytes} B` }),
  ...(sha256 !== undefined && { sha256 }),
});

/** Text of a JSON-LD script element: nothing in it can close the element (HTML, restrictions on script contents). */
export function jsonLdText(dataset: Record<string, Json>): string {
  return JSON.stringify(dataset).replaceAll('<', String.raw`\u003c`);
}
