import type { Publication } from '../contracts/publication.ts';
import type { Json } from '../design/canonical-json.ts';
import { abstractOf, citedTitle, LICENCES } from './citation.ts';
import type { Table } from './package-fields.ts';

export interface FileFacts {
  bytes: number;
  /** SHA-256, hex. */
  hash: string;
}

/**
 * datapackage.json: what every file and column is.
 * Source: Frictionless Data Package and Table Schema, version 1, whose readers are the most spread; nothing in it is
 * against version 2.
 */
export function packageDescriptor(
  publication: Publication,
  tables: readonly Table[],
  factsOf: (path: string) => FileFacts,
  url: string | null,
): Record<string, Json> {
  const { title, panel, publishedOn, version, licence, sessions, demo } = publication;
  const { url: path, title: licenceTitle } = LICENCES[licence];
  const resource = (name: string, file: string): Record<string, Json> => {
    const { bytes, hash } = factsOf(file);
    return { name, path: file, encoding: 'utf-8', bytes, hash: `sha256:${hash}` };
  };
  return {
    profile: 'data-package',
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
    contributors: [{ title: panel, role: 'author' }],
    sources: sessions.map(({ number, title: name, heldIn, seal }) => ({
      title: `Session ${number}, ${name}, tasted in ${heldIn}, seal ${seal.root}`,
    })),
    keywords: ['blind-tasting', 'fermentation'],
    resources: [
      ...tables.map((table) => ({
        ...resource(table.name, `${table.name}.csv`),
        profile: 'tabular-data-resource',
        description: table.description,
        format: 'csv',
        mediatype: 'text/csv',
        dialect: { delimiter: ',', lineTerminator: '\r\n', quoteChar: '"', doubleQuote: true, header: true },
        schema: schemaOf(table),
      })),
      {
        ...resource('result', 'result.json'),
        profile: 'data-resource',
        description: 'The publication itself: everything that page and tables are made from.',
        format: 'json',
        mediatype: 'application/json',
      },
    ],
  };
}

function schemaOf({ fields, primaryKey, foreignKeys }: Table): Json {
  return {
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
