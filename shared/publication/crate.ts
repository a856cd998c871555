import type { Publication } from '../contracts/publication.ts';
import type { Json } from '../design/canonical-json.ts';
import { abstractOf, citedTitle, LICENCES } from './citation.ts';
import {
  addressOf,
  consentStatement,
  contactOf,
  doiAddress,
  relatedByProperty,
  variablesMeasured,
} from './deposit.ts';
import type { FileFacts } from './package-descriptor.ts';

export const CRATE = 'ro-crate-metadata.json';

type Entity = Record<string, Json>;
const to = (id: string): Entity => ({ '@id': id });

const TYPES: Readonly<Record<string, string>> = {
  csv: 'text/csv',
  json: 'application/json',
  md: 'text/markdown',
  txt: 'text/plain',
  cff: 'application/yaml',
};
const ABOUT: Readonly<Record<string, string>> = {
  'datapackage.json': 'Description of the tables: Frictionless Data Package.',
  'result.json': 'The publication itself: everything that page and tables are made from.',
  'protocol.json':
    'How to taste the same again: question, arms, parts and serving, without codes, people or dates.',
  'README.md': 'What the files are, how to read and how to check them.',
  'LICENSE.txt': 'What the licence allows, in short.',
  'CITATION.cff': 'How to cite: Citation File Format.',
  SHA256SUMS: 'Sums of all other files, this description among them; therefore without a sum here.',
};

/** A file of the package; `facts` null where its sum cannot be told from within. */
export interface CrateFile {
  path: string;
  /** What it holds, where that is not told by its name. */
  about?: string | undefined;
  facts: FileFacts | null;
}

/**
 * ro-crate-metadata.json: the package as research archives read it, with every file of it.
 * `sha256` is a term of schema.org that the context of 1.1 lacks, and is added as its appendix on JSON-LD says.
 * Source: RO-Crate Metadata Specification 1.1 (https://w3id.org/ro/crate/1.1).
 */
export function crate(publication: Publication, files: readonly CrateFile[], url: string | null): Entity {
  const panel = to('#panel');
  return {
    '@context': ['https://w3id.org/ro/crate/1.1/context', { sha256: 'http://schema.org/sha256' }],
    '@graph': [
      {
        '@id': CRATE,
        '@type': 'CreativeWork',
        conformsTo: to('https://w3id.org/ro/crate/1.1'),
        about: to('./'),
      },
      rootOf(publication, files, url, panel),
      ...files.map(fileEntity),
      ...besides(publication),
    ],
  };
}

function rootOf(
  publication: Publication,
  files: readonly CrateFile[],
  url: string | null,
  panel: Entity,
): Entity {
  const { version, publishedOn, licence, sessions, software } = publication;
  const identifier = [
    ...[doiAddress(publication), url].filter((one) => one !== null),
    ...sessions.map(({ seal }) => `sha256:${seal.root}`),
  ];
  return {
    '@id': './',
    '@type': 'Dataset',
    name: citedTitle(publication),
    description: abstractOf(publication),
    datePublished: publishedOn,
    version: String(version),
    license: to(LICENCES[licence].url),
    author: panel,
    publisher: panel,
    identifier,
    ...(url !== null && { url }),
    publishingPrinciples: to('#consent'),
    ...(software && { mentions: to('#made') }),
    variableMeasured: variablesMeasured(publication).map((_, at) => to(`#variable-${at + 1}`)),
    ...Object.fromEntries([...relatedByProperty(publication)].map(([name, works]) => [name, works.map(to)])),
    hasPart: files.map(({ path }) => to(path)),
  };
}

function fileEntity({ path, about, facts }: CrateFile): Entity {
  const description = about ?? ABOUT[path];
  return {
    '@id': path,
    '@type': 'File',
    name: path,
    ...(description !== undefined && { description }),
    encodingFormat: TYPES[path.slice(path.lastIndexOf('.') + 1)] ?? 'text/plain',
    ...(facts && { contentSize: String(facts.bytes), sha256: facts.hash }),
  };
}

/** What the package is described by, besides its files. */
function besides(publication: Publication): Entity[] {
  const { panel, licence, deposit, software, publishedOn } = publication;
  const { title, url } = LICENCES[licence];
  const contact = contactOf(publication);
  const contactId = contact && ('email' in contact ? `mailto:${contact.email}` : contact.page);
  return [
    { '@id': url, '@type': 'CreativeWork', name: title, description: `SPDX: ${licence}`, identifier: url },
    {
      '@id': '#panel',
      '@type': 'Organization',
      name: panel,
      ...(contactId !== null && { contactPoint: to(contactId) }),
    },
    ...(contact && contactId !== null
      ? [
          {
            '@id': contactId,
            '@type': 'ContactPoint',
            contactType: 'questions about these data',
            ...('email' in contact ? { email: contact.email } : { url: contact.page }),
          },
        ]
      : []),
    {
      '@id': '#consent',
      '@type': 'CreativeWork',
      name: 'Consent of the assessors',
      text: consentStatement(publication),
    },
    ...(software
      ? [
          {
            '@id': '#software',
            '@type': 'SoftwareApplication',
            ...software,
            softwareVersion: software.version,
          },
          {
            '@id': '#made',
            '@type': 'CreateAction',
            name: 'Analysis of the answers, and the making of these files',
            endTime: publishedOn,
            instrument: to('#software'),
            agent: to('#panel'),
            result: to('./'),
          },
        ]
      : []),
    ...variablesMeasured(publication).map((one, at) => ({
      '@id': `#variable-${at + 1}`,
      ...(one as Entity),
    })),
    ...[...new Set((deposit?.related ?? []).map(({ identifier }) => addressOf(identifier)))]
      // One that is the contact too is described already.
      .filter((id) => id !== contactId)
      .map((id) => ({ '@id': id, '@type': 'CreativeWork', name: id })),
  ];
}
