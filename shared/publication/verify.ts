import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { canonical, equal, type Check, type Document, type Fields, type Leaf } from './verify-format.ts';
import { checkRecord } from './verify-record.ts';
import { checkSession, rootOf } from './verify-session.ts';
import { checkTables, rowsOf, textOf } from './verify-tables.ts';
import { unpack, type Bytes } from './verify-zip.ts';

// The verifier: a data package against itself, its seal and its own numbers. Written against the published format alone
// (README.md of a package tells it) and imports nothing of the code that makes packages, so that both would have to be
// wrong in the same way. To be read in this order: verify-format, verify-session, verify-figures with its rooms (choice,
// ranking, words, marks), verify-numbers, then the files. What it cannot see is listed in verify-reach. The sums of a package
// cover that too; that the sums are right shows only beside the page: pass its digest.

export type { Check } from './verify-format.ts';
const NEEDED = ['datapackage.json', 'result.json', 'README.md', 'LICENSE.txt', 'CITATION.cff', 'SHA256SUMS'];

/** Checks of a publication document by itself: seal, trays, counts, headline numbers. Never throws. */
export function verifyPublication(document: unknown): Check[] {
  return guarded('result.json', () => {
    const { format, sessions, arms } = document as Document;
    const names = new Map(arms.map(({ id, name }) => [id, name]));
    const known = equal('format of result.json', format, 'oddglass-publication-1');
    return [
      known,
      ...guarded('the record of the trial', () => checkRecord(document as Document)),
      ...sessions.flatMap((one, i) => guarded(`session ${i + 1}`, () => checkSession(one, names))),
    ];
  });
}

/**
 * Checks of a whole data package (ZIP). Never throws: what cannot be read is a failed check.
 * @param digest SHA-256 of SHA256SUMS as the page of the publication tells it (hex), if it is at hand.
 */
export function verifyPackage(zip: Uint8Array, digest: string | null = null): Check[] {
  return guarded('the package', () => {
    const { files, passed } = unpack(zip);
    const sums = files['SHA256SUMS'] ?? new Uint8Array();
    return [
      ...(digest === null ? [] : [equal('digest of the package', hashOf(sums), digest.toLowerCase())]),
      ...passed,
      ...guarded('sums of files', () => checkSums(files)),
      ...guarded('datapackage.json', () => checkDescriptor(files)),
      ...guarded('tables', () => checkTables(files)),
      ...guarded('result.json', () => verifyPublication(JSON.parse(textOf(files, 'result.json')))),
    ];
  });
}

/**
 * Checks of an announced plan (the text of its file): its settings lead to its root; and where a package is at hand, that
 * one of the tastings told there has that root and those settings. Never throws.
 */
export function verifyAnnouncement(text: string, zip: Uint8Array | null = null): Check[] {
  return guarded('the announcement', () => {
    const announced = JSON.parse(text) as { root: string; fingerprint: string; size: number; settings: Leaf };
    const { root, fingerprint, size, settings } = announced;
    const short = root
      .slice(0, 12)
      .toUpperCase()
      .replace(/(.{4})(?=.)/g, '$1·');
    const own = [
      equal('what is announced', settings.kind, 'settings'),
      equal('the settings lead to the root', rootOf(settings, size), root),
      equal('fingerprint of the root', fingerprint, short),
    ];
    if (zip === null) return own;
    const { files } = unpack(zip);
    const { sessions } = JSON.parse(textOf(files, 'result.json')) as Document;
    const told = sessions.find(({ seal }) => seal.root === root);
    const opened = told?.seal.leaves.find(({ kind }) => kind === 'settings');
    return [
      ...own,
      equal('a tasting of the package has the announced root', told !== undefined, true),
      ...(told ? [equal('leaves of its seal', told.seal.size, size)] : []),
      ...(opened
        ? [equal('its settings are the announced ones', canonical(opened.body), canonical(settings.body))]
        : []),
    ];
  });
}

function guarded(name: string, body: () => Check[]): Check[] {
  try {
    return body();
  } catch (reason) {
    return [{ name, ok: false, found: `cannot be read: ${String(reason)}`, expected: 'can be read' }];
  }
}

const hashOf = (bytes: Uint8Array): string => bytesToHex(sha256(bytes));

function checkSums(files: Bytes): Check[] {
  const lines = textOf(files, 'SHA256SUMS').trimEnd().split('\n');
  const told = new Map(lines.map((line) => [line.slice(66), line.slice(0, 64)]));
  const others = Object.keys(files).filter((path) => path !== 'SHA256SUMS');
  return [
    equal('files in SHA256SUMS', [...told.keys()].sort(), others.sort()),
    equal(
      'files that a package needs',
      NEEDED.filter((path) => !files[path]),
      [],
    ),
    ...others.map((path) => equal(`sum of ${path}`, hashOf(files[path] ?? new Uint8Array()), told.get(path))),
  ];
}

function checkDescriptor(files: Bytes): Check[] {
  const told = JSON.parse(textOf(files, 'datapackage.json')) as Fields & {
    licenses: { name: string }[];
    resources: { path: string; bytes: number; hash: string; schema?: { fields: { name: string }[] } }[];
  };
  const { title, version, publishedOn, licence, demo } = JSON.parse(textOf(files, 'result.json')) as Document;
  const name = (what: string): string => `datapackage.json, ${what}`;
  const data = Object.keys(files).filter((path) => path.endsWith('.csv') || path === 'result.json');
  return [
    equal(name('title'), told['title'], demo === true ? `${String(title)} (invented demo data)` : title),
    equal(name('version'), told['version'], `${version}.0.0`),
    equal(name('day'), told['created'], `${publishedOn}T00:00:00Z`),
    equal(
      name('licence'),
      told.licenses.map((one) => one.name),
      [licence],
    ),
    equal(name('invented'), told['demo'], demo),
    equal(name('resources'), told.resources.map(({ path }) => path).sort(), data.sort()),
    ...told.resources.flatMap(({ path, bytes, hash, schema }) => [
      equal(name(`size of ${path}`), bytes, files[path]?.length),
      equal(name(`sum of ${path}`), hash, `sha256:${hashOf(files[path] ?? new Uint8Array())}`),
      ...(schema
        ? [
            equal(
              name(`columns of ${path}`),
              schema.fields.map((one) => one.name),
              rowsOf(textOf(files, path))[0],
            ),
          ]
        : []),
    ]),
  ];
}
