import { sha256 } from '@noble/hashes/sha2.js';
import { unzipSync, zipSync } from 'fflate';
import { publication as publicationSchema, type Publication } from '../contracts/publication.ts';
import { toHex } from '../ground/random.ts';
import { citationFile } from './citation.ts';
import { csvText } from '../export/csv.ts';
import { crate, CRATE } from './crate.ts';
import { packageDescriptor, type FileFacts } from './package-descriptor.ts';
import type { Table } from './package-fields.ts';
import { packageTables } from './package-tables.ts';
import { licenceText, readmeText } from './package-texts.ts';
import { protocolOf } from './protocol.ts';

/** A file of a data package; `path` has no folder. */
export interface PackageFile {
  path: string;
  bytes: Uint8Array;
}

const SUMS = 'SHA256SUMS';
/** Most a package may unpack to: a small file that unpacks without end is refused. */
const MAX_BYTES = 256 * 1024 * 1024;

/**
 * All files of the data package of a publication. The same publication and address give the same bytes.
 * @param url address of the page, where it is known.
 * @throws ZodError for what is not a publication.
 * Source: Frictionless Data Package and Table Schema (versions 1 and 2), RO-Crate 1.1, Citation File Format 1.2.0, RFC 4180.
 */
export function packageFiles(given: Publication, url: string | null = null): PackageFile[] {
  // What the contract does not name does not leave.
  const publication = publicationSchema.parse(given);
  const tables = packageTables(publication);
  const protocol = protocolOf(publication, url);
  const files = [
    ...tables.map(({ name, fields, rows }) =>
      textFile(
        `${name}.csv`,
        csvText(
          rows,
          fields.map((field) => field.name),
        ),
      ),
    ),
    textFile('result.json', jsonText(publication)),
    ...(protocol ? [textFile('protocol.json', jsonText(protocol))] : []),
    textFile('README.md', readmeText(publication, tables, url)),
    textFile('LICENSE.txt', licenceText(publication)),
    textFile('CITATION.cff', citationFile(publication, url)),
  ];
  const descriptor = packageDescriptor(publication, tables, (path) => factsOf(files, path), url);
  const described = [textFile('datapackage.json', jsonText(descriptor)), ...files];
  const all = [...described, textFile(CRATE, crateText(publication, described, tables, url))];
  return [...all, textFile(SUMS, sumsText(all))];
}

function factsOf(files: readonly PackageFile[], path: string): FileFacts {
  const bytes = bytesOf(files, path);
  return { bytes: bytes.length, hash: toHex(sha256(bytes)) };
}

/** The package as an RO-Crate, with every file but the description itself. */
function crateText(
  publication: Publication,
  described: readonly PackageFile[],
  tables: readonly Table[],
  url: string | null,
): string {
  const aboutOf = (path: string) => tables.find(({ name }) => `${name}.csv` === path)?.description;
  const files = described.map(({ path }) => ({
    path,
    about: aboutOf(path),
    facts: factsOf(described, path),
  }));
  return jsonText(crate(publication, [...files, { path: SUMS, facts: null }], url));
}

/** Sums of files, as `sha256sum -c` reads them. */
export function sumsText(files: readonly PackageFile[]): string {
  return files.map(({ path, bytes }) => `${toHex(sha256(bytes))}  ${path}\n`).join('');
}

/** One number that stands for the whole package (SHA-256 of SHA256SUMS, hex), for page and citation to hold it by. */
export function packageDigest(files: readonly PackageFile[]): string {
  return toHex(sha256(bytesOf(files, SUMS)));
}

/**
 * The same number of a package as it lies there, of which no other file is unpacked.
 * @throws Error when it is no ZIP, or has no sums.
 */
export function packageDigestOf(zip: Uint8Array): string {
  const files = unzipSync(zip, {
    filter: ({ name, originalSize }) => name === SUMS && originalSize <= MAX_BYTES,
  });
  return packageDigest(Object.entries(files).map(([path, bytes]) => ({ path, bytes })));
}

/** The files as one ZIP; the same files give the same bytes, on every machine and day. */
export function zipPackage(files: readonly PackageFile[]): Uint8Array {
  // A ZIP holds local time without a zone: local midnight gives the same bytes in every zone.
  const mtime = new Date(1980, 0, 1);
  return zipSync(Object.fromEntries(files.map(({ path, bytes }) => [path, bytes])), { level: 9, mtime });
}

/**
 * The files of a ZIP.
 * @throws RangeError when it would unpack to more than 256 MiB; Error when it is no ZIP.
 */
export function unzipPackage(zip: Uint8Array): PackageFile[] {
  let left = MAX_BYTES;
  const files = unzipSync(zip, {
    filter: ({ originalSize }) => {
      left -= originalSize;
      if (left < 0) throw new RangeError('The package unpacks to more than 256 MiB.');
      return true;
    },
  });
  return Object.entries(files).map(([path, bytes]) => ({ path, bytes }));
}

/**
 * The publication that a package was made from, equal in every value.
 * @throws ZodError, SyntaxError or Error for a package without a publication that can be read.
 */
export function readPackage(zip: Uint8Array): Publication {
  const bytes = bytesOf(unzipPackage(zip), 'result.json');
  return publicationSchema.parse(JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes)));
}

function bytesOf(files: readonly PackageFile[], path: string): Uint8Array {
  const file = files.find((one) => one.path === path);
  if (!file) throw new Error(`The package has no ${path}.`);
  return file.bytes;
}

function textFile(path: string, text: string): PackageFile {
  return { path, bytes: new TextEncoder().encode(text) };
}

function jsonText(value: unknown): string {
  return `${JSON.stringify(value, null, 2)}\n`;
}
