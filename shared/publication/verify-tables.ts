import {
  canonical,
  equal,
  wordsAndLate,
  type Check,
  type Document,
  type SessionOf,
} from './verify-format.ts';
import { recordRows } from './verify-record.ts';
import type { Bytes } from './verify-zip.ts';

// The verifier's reading of tables (verify.ts): every CSV file holds what the document says, and nothing else.

export function textOf(files: Bytes, path: string): string {
  const bytes = files[path];
  if (!bytes) throw new Error(`there is no ${path}`);
  return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
}

/** Records of a CSV file (RFC 4180), the header first. */
export function rowsOf(text: string): string[][] {
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
export function checkTables(files: Bytes): Check[] {
  const document = JSON.parse(textOf(files, 'result.json')) as Document;
  const { arms, sessions } = document;
  const each = (rows: (session: SessionOf) => Value[][]): Value[][] =>
    sessions.flatMap((session) => rows(session).map((row) => [session.number, ...row]));
  const facts = ['title', 'heldIn', 'blinding', 'tier', 'seated', 'assessors', 'withdrawn'];
  // Publications of before it was written down have no such columns.
  const readers = sessions.some(({ keyReaders }) => keyReaders !== undefined);
  const wanted: Record<string, Value[][]> = {
    sessions: each((one) => [
      [
        ...facts.map((key) => one[key] as Value),
        one.seal.root,
        one.seal.fingerprint,
        one.seal.size,
        ...(readers ? readersOf(one) : []),
      ],
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
  Object.assign(wanted, recordRows(document));
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

const readersOf = ({ keyReaders }: SessionOf): Value[] => [keyReaders?.accounts, keyReaders?.invited];

function wordsOf({
  part,
  kind,
  descriptors,
  outcome,
  votes,
  noPreference,
  words,
  late,
  samples,
}: SessionOf['parts'][number]): Value[][] {
  if (kind === 'description') {
    return wordsAndLate({ words, late }).flatMap(({ word, family, shares }) =>
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
  if (kind === 'same-different') {
    const { different, same, rows: list } = descriptors as Record<string, unknown>;
    return rows(list).flatMap((row) => [
      [part, kind, row['word'], null, 'called different', row['different'], (different ?? 0) as Value],
      [part, kind, row['word'], null, 'called the same', row['same'], (same ?? 0) as Value],
    ]);
  }
  if (!outcome) return [];
  const { rows: list, countedAnswers, otherAnswers } = descriptors as Record<string, unknown>;
  return rows(list).flatMap((row) => [
    [part, kind, row['word'], null, outcome.counted, row['counted'], countedAnswers as Value],
    [part, kind, row['word'], null, outcome.other, row['other'], otherAnswers as Value],
  ]);
}
