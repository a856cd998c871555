import type { Publication } from '../contracts/publication.ts';
import type { Json } from '../design/canonical-json.ts';
import { abstractOf, citedTitle, LICENCES } from './citation.ts';
import { contactOf, doiAddress } from './deposit.ts';
import type { Table } from './package-fields.ts';

export interface FileFacts {
  bytes: number;
  /** SHA-256, hex. */
  hash: string;
}

const PROFILES = 'https://datapackage.org/profiles/2.0';

/**
 * datapackage.json: what every file and column is.
 * Source: Frictionless Data Package and Table Schema, version 2; `profile` and `role` stand beside for readers of version 1,
 * which are the most spread.
 */
export function packageDescriptor(
  publication: Publication,
  tables: readonly Table[],
  factsOf: (path: string) => FileFacts,
  url: string | null,
): Record<string, Json> {
  const { title, publishedOn, version, licence, sessions, demo } = publication;
  const { url: path, title: licenceTitle } = LICENCES[licence];
  const resource = (name: string, file: string): Record<string, Json> => {
    const { bytes, hash } = factsOf(file);
    return { name, path: file, encoding: 'utf-8', bytes, hash: `sha256:${hash}` };
  };
  return {
    $schema: `${PROFILES}/datapackage.json`,
    profile: 'data-package',
    id: doiAddress(publication) ?? url ?? uuidOf(factsOf('result.json').hash),
    name: `${slug(title)}-version-${version}`,
    title: citedTitle(publication),
    description: abstractOf(publication),
    // The standard asks for three numbers; a publication has one.
    version: `${version}.0.0`,
    // Only the day is told.
    created: `${publishedOn}T00:00:00Z`,
    demo,
    ...(url !== null && { homepage: url }),
    licenses: [{ name: licence, path, title: licenceTitle }],
    contributors: [contributor(publication)],
    sources: sessions.map(({ number, title: name, heldIn, seal }) => ({
      title: `Session ${number}, ${name}, tasted in ${heldIn}, seal ${seal.root}`,
    })),
    keywords: ['blind-tasting', 'fermentation'],
    resources: [
      ...tables.map((table) => ({
        ...resource(table.name, `${table.name}.csv`),
        $schema: `${PROFILES}/dataresource.json`,
        profile: 'tabular-data-resource',
        type: 'table',
        description: table.description,
        format: 'csv',
        mediatype: 'text/csv',
        dialect: { delimiter: ',', lineTerminator: '\r\n', quoteChar: '"', doubleQuote: true, header: true },
        schema: schemaOf(table),
      })),
      {
        ...resource('result', 'result.json'),
        $schema: `${PROFILES}/dataresource.json`,
        profile: 'data-resource',
        description: 'The publication itself: everything that page and tables are made from.',
        format: 'json',
        mediatype: 'application/json',
      },
    ],
  };
}

/** The panel, with where it can be asked; roles by version 2, `role` by version 1. */
function contributor(publication: Publication): Json {
  const contact = contactOf(publication);
  return {
    title: publication.panel,
    ...(contact && ('email' in contact ? { email: contact.email } : { path: contact.page })),
    role: 'author',
    roles: ['creator', 'publisher', ...(contact ? ['contactPerson'] : [])],
  };
}

/** A UUID of the publication's own content, where it has neither DOI nor address (RFC 9562, version 8). */
function uuidOf(hash: string): string {
  const variant = ((parseInt(hash.charAt(16), 16) & 0x3) | 0x8).toString(16);
  const [a, b, c, d, e] = [
    hash.slice(0, 8),
    hash.slice(8, 12),
    `8${hash.slice(13, 16)}`,
    `${variant}${hash.slice(17, 20)}`,
    hash.slice(20, 32),
  ];
  return `urn:uuid:${a}-${b}-${c}-${d}-${e}`;
}

function schemaOf({ fields, primaryKey, foreignKeys }: Table): Json {
  return {
    $schema: `${PROFILES}/tableschema.json`,
    fields: fields.map(({ constraints, ...field }) => ({
      ...field,
      ...(constraints && {
        constraints: { ...constraints, ...(constraints.enum && { enum: [...constraints.enum] }) } as Json,
      }),
    })),
    missingValues: [''],
    ...(primaryKey && { primaryKey: [...primaryKey] }),
    ...(foreignKeys.length > 0 && {
      foreignKeys: foreignKeys.map((key) => ({
        fields: [...key.fields],
        reference: { resource: key.resource, fields: [...key.to] },
      })),
    }),
  };
}

/** Small Latin letters, digits and hyphens, which a package name may have. */
export function slug(title: string): string {
  const plain = title
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '');
  return plain === '' ? 'publication' : plain;
}
