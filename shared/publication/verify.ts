import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { unzipSync } from 'fflate';
import { canonical, checkSession, type Check, type Fields, type SessionOf } from './verify-session.ts';

// The verifier: a data package against itself, its seal and its own numbers. Written against the published format alone
// (README.md of a package tells it) and imports nothing of the code that makes packages, so that both would have to be
// wrong in the same way. What it cannot see: whether texts (titles, sentences, words of caveats, methods) are those that
// were published. The sums of a package cover them; that the sums are right shows only beside the page: pass its digest.

export type { Check } from './verify-session.ts';
interface Document extends Fields {
  version: number;
  publishedOn: string;
  arms: { id: string; name: string; differs: string }[];
  sessions: SessionOf[];
}
type Bytes = Record<string, Uint8Array>;
const NEEDED = ['datapackage.json', 'result.json', 'README.md', 'LICENSE.txt', 'CITATION.cff', 'SHA256SUMS'];

/** Checks of a publication document by itself: seal, trays, counts, headline numbers. Never throws. */
export function verifyPublication(document: unknown): Check[] {
  return guarded('result.json', () => {
    const { format, sessions, arms } = document as Document;
    const names = new Map(arms.map(({ id, name }) => [id, name]));
    const known = equal('format of result.json', format, 'oddglass-publication-1');
    return [
      known,
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
    const files = unzipSync(zip);
    const { 'result.json': result, SHA256SUMS: sums } = files;
    if (!result || !sums) throw new Error('there is no result.json or no SHA256SUMS');
    return [
      ...(digest === null ? [] : [equal('digest of the package', hashOf(sums), digest.toLowerCase())]),
      ...guarded('sums of files', () => checkSums(files)),
      ...guarded('datapackage.json', () => checkDescriptor(files)),
      ...guarded('tables', () => checkTables(files)),
      ...guarded('result.json', () => verifyPublication(JSON.parse(textOf(files, 'result.json')))),
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

function equal(name: string, found: unknown, expected: unknown): Check {
  const [left, right] = [canonical(found), canonical(expected)];
  return { name, ok: left === right, found: left, expected: right };
}

const hashOf = (bytes: Uint8Array): string => bytesToHex(sha256(bytes));

function textOf(files: Bytes, path: string): string {
  const bytes = files[path];
  if (!bytes) throw new Error(`there is no ${path}`);
  return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
}

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

/** Records of a CSV file (RFC 4180), the header first. */
function rowsOf(text: string): string[][] {
  const rows: string[][] = [[]];
  for (const [, quoted, plain = '', end = ''] of text.matchAll(
    /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n|$)/g,
  )) {
    rows.at(-1)?.push(quoted === undefined ? plain : quoted.replaceAll('""', '"'));
    if (end === '\r\n') rows.push([]);
    else if (end === '') break;
  }
  return rows.slice(0, -1);
}

type Value = string | number | boolean | null | undefined;

/** A value as its cell says it: nothing for null, an apostrophe before what a spreadsheet would take for a formula. */
function cellOf(value: Value): string {
  return typeof value === 'string' && /^[=+\-@\t\r\uFF1D\uFF0B\uFF0D\uFF20]/.test(value)
    ? `'${value}`
    : String(value ?? '');
}

/** A value in the columns `value` (numbers) and `text` (all else). */
const split = (value: Value): Value[] =>
  typeof value === 'number' ? [value, null] : [null, value === null ? null : String(value)];

/** Every number, text and truth below a value, with its path; lists count from 1. */
function leavesOf(path: string, value: unknown): [string, Value][] {
  if (Array.isArray(value)) return value.flatMap((one, i) => leavesOf(`${path}.${i + 1}`, one));
  if (typeof value !== 'object' || value === null) return [[path, value as Value]];
  return Object.entries(value).flatMap(([key, one]) => leavesOf(path === '' ? key : `${path}.${key}`, one));
}

/** The rows that each table must have, from the document. */
function checkTables(files: Bytes): Check[] {
  const { arms, sessions } = JSON.parse(textOf(files, 'result.json')) as Document;
  const each = (rows: (session: SessionOf) => Value[][]): Value[][] =>
    sessions.flatMap((session) => rows(session).map((row) => [session.number, ...row]));
  const facts = ['title', 'heldIn', 'blinding', 'tier', 'seated', 'assessors', 'withdrawn'];
  const wanted: Record<string, Value[][]> = {
    sessions: each((one) => [
      [...facts.map((key) => one[key] as Value), one.seal.root, one.seal.fingerprint, one.seal.size],
    ]),
    arms: arms.map(({ name, id, differs }) => [name, id, differs]),
    samples: each(({ samples }) =>
      samples.map((one) => [one.sampleId, one.part, one.arm, one.name, one.role, one.control]),
    ),
    trays: each(({ seal }) =>
      seal.leaves
        .filter(({ kind }) => kind === 'tray')
        .flatMap(({ body }) =>
          (body['servings'] as Record<string, Value>[]).map((cup) => [
            ...(['id', 'part', 'replicate'].map((key) => body[key]) as Value[]),
            ...['position', 'code', 'sampleId', 'mark'].map((key) => cup[key]),
          ]),
        ),
    ),
    'descriptor-counts': each(({ parts }) => parts.flatMap(wordsOf)),
    orders: each(({ orders }) => orders.map((one) => [one.part, one.order, one.served, one.counted])),
    figures: each(({ parts }) =>
      parts.flatMap(({ part, kind, ...rest }) =>
        leavesOf('', { ...rest, methods: [], caveats: [] }).map(([path, value]) => [
          part,
          kind,
          path,
          ...split(value),
        ]),
      ),
    ),
    seal: each(({ seal }) =>
      seal.leaves.map((leaf) => [
        leaf.index,
        leaf.kind,
        leaf.nonce,
        canonical(leaf.body),
        canonical(leaf.proof),
      ]),
    ),
    answers: each(({ rows }) =>
      (rows ?? []).map(({ value, ...row }) => [
        ...['part', 'kind', 'person', 'sample', 'arm', 'role', 'question'].map((key) => row[key] as Value),
        ...split(value),
        row['unit'] as Value,
      ]),
    ),
  };
  if (sessions.every(({ rows }) => rows === null)) delete wanted['answers'];
  return Object.entries(wanted).map(([name, rows]) => {
    const found = rowsOf(textOf(files, `${name}.csv`)).slice(1);
    const expected = rows.map((row) => row.map(cellOf));
    const at = Array.from({ length: Math.max(found.length, expected.length) }, (_, i) => i).find(
      (i) => canonical(found[i]) !== canonical(expected[i]),
    );
    if (at === undefined) return equal(`${name}.csv agrees with result.json`, found.length, expected.length);
    return equal(`${name}.csv agrees with result.json, row ${at + 1}`, found[at], expected[at]);
  });
}

function wordsOf({
  part,
  kind,
  descriptors,
  outcome,
  votes,
  noPreference,
  words,
  samples,
}: SessionOf['parts'][number]): Value[][] {
  if (kind === 'description') {
    return (words ?? []).flatMap(({ word, family, shares }) =>
      shares.map(({ sample, checked, asked }) => [
        part,
        kind,
        word,
        family,
        samples?.find(({ key }) => key === sample)?.name,
        checked,
        asked,
      ]),
    );
  }
  const rows = (list: unknown) => list as Record<string, Value>[];
  if (votes) {
    const [first, second] = votes.map((one) => one.votes);
    const named = (row: Record<string, Value>, group: string, key: string, of: Value) => [
      part,
      kind,
      row['word'],
      null,
      group,
      row[key],
      of,
    ];
    return rows(descriptors).flatMap((row) => [
      named(row, 'preferred the first arm', 'first', first),
      named(row, 'preferred the second arm', 'second', second),
      named(row, 'no preference', 'none', noPreference?.answers),
    ]);
  }
  if (!outcome) return [];
  const { rows: list, countedAnswers, otherAnswers } = descriptors as Record<string, unknown>;
  return rows(list).flatMap((row) => [
    [part, kind, row['word'], null, outcome.counted, row['counted'], countedAnswers as Value],
    [part, kind, row['word'], null, outcome.other, row['other'], otherAnswers as Value],
  ]);
}
