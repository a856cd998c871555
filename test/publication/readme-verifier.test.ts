import { createHash } from 'node:crypto';
import { packageFiles } from '@oddglass/shared/publication/package.ts';
import { NOT_CHECKED } from '@oddglass/shared/publication/verify-reach.ts';
import { describe, expect, it } from 'vitest';
import { fixturePublication } from './package-fixture.ts';

// Another verifier, written from README.md of a package alone: no line of ours is used for it, of whatever side. Names are those
// of the text (f, s, r, p).

const files = new Map(
  packageFiles(fixturePublication()).map(({ path, bytes }) => [path, new TextDecoder().decode(bytes)]),
);
const readme = files.get('README.md') ?? '';

/** Rows of a table by the names of its columns (RFC 4180). */
function table(name: string): Record<string, string>[] {
  const records: string[][] = [];
  let record: string[] = [];
  for (const [, quoted, plain = '', end] of (files.get(`${name}.csv`) ?? '').matchAll(
    /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n|$)/g,
  )) {
    record.push(quoted === undefined ? plain : quoted.replaceAll('""', '"'));
    if (end === ',') continue;
    if (record.length > 1 || record[0] !== '') records.push(record);
    record = [];
  }
  const [head = [], ...rows] = records;
  return rows.map((row) => Object.fromEntries(head.map((column, at) => [column, row[at] ?? ''])));
}

const hash = (...parts: (Buffer | string)[]): Buffer =>
  parts.reduce((sum, one) => sum.update(one), createHash('sha256')).digest();

/** The root that a leaf leads to, or why it leads to none. */
function rootOf(row: Record<string, string>, leaves: number): string {
  const { body, kind, nonce, leaf, proof = '[]' } = row;
  let r = hash(
    Buffer.of(0),
    `{"body":${body},"format":"oddglass-seal-1","kind":"${kind}","nonce":"${nonce}"}`,
  );
  let f = Number(leaf);
  let s = leaves - 1;
  for (const one of JSON.parse(proof) as string[]) {
    const p = Buffer.from(one, 'hex');
    if (s === 0) return 'the proof is too long';
    if (f % 2 === 1 || f === s) {
      r = hash(Buffer.of(1), p, r);
      while (f % 2 === 0 && f !== 0) {
        f /= 2;
        s = Math.floor(s / 2);
      }
    } else r = hash(Buffer.of(1), r, p);
    f = Math.floor(f / 2);
    s = Math.floor(s / 2);
  }
  return s === 0 ? r.toString('hex') : 'the proof is too short';
}

describe('what README.md tells is enough', () => {
  const sessions = new Map(table('sessions').map((row) => [row['session'], row]));
  const of = (row: Record<string, string>) => sessions.get(row['session']) ?? {};

  it('to lead every opened leaf to the root, and to see that another leads elsewhere', () => {
    const leaves = table('seal');
    expect(leaves.length).toBeGreaterThan(100);
    for (const row of leaves) {
      const { root, leaves: size } = of(row);
      expect(rootOf(row, Number(size)), `leaf ${row['leaf']}`).toBe(root);
      expect(rootOf({ ...row, nonce: 'f'.repeat(64) }, Number(size))).not.toBe(root);
      expect(rootOf({ ...row, leaf: String(Number(row['leaf']) + 1) }, Number(size))).not.toBe(root);
    }
  });

  it('to count the leaves', () => {
    const leaves = table('seal');
    for (const [session, row] of sessions) {
      const own = leaves.filter((one) => one['session'] === session);
      const samples = table('samples').filter((one) => one['session'] === session).length;
      const trays = own.filter(({ kind }) => kind === 'tray').length;
      expect(Number(row['leaves'])).toBe(1 + samples + 2 * trays);
    }
  });

  it('to know which arm is A, and that no order was answered more often than it was poured', () => {
    const figures = table('figures');
    const arms = new Map(table('arms').map(({ id, arm }) => [id, arm]));
    const samples = new Map(
      table('samples').map((row) => [`${row['session']} ${row['sample']}`, row['arm']]),
    );
    const cups = Map.groupBy(table('trays'), (row) => `${row['session']} ${row['part']} ${row['tray']}`);
    const orders = table('orders');
    expect(orders.length).toBeGreaterThan(20);
    let all = 0;
    for (const { session, part, order, served } of orders) {
      const letter = new Map(
        ['A', 'B'].map((one, at) => {
          const figure = `settings.armIds.${at + 1}`;
          const row = figures.find(
            (f) => f['session'] === session && f['part'] === part && f['figure'] === figure,
          );
          return [arms.get(row?.['text']), one];
        }),
      );
      const poured = [...cups].filter(
        ([key, tray]) =>
          key.startsWith(`${session} ${part} `) &&
          tray
            .toSorted((a, b) => Number(a['position']) - Number(b['position']))
            .map((cup) => {
              const one = letter.get(samples.get(`${session} ${cup['sample']}`)) ?? '?';
              return cup['mark'] === '' ? one : `(${one})`;
            })
            .join('') === order,
      );
      expect(poured.length, `${order} of part ${part}`).toBeGreaterThanOrEqual(Number(served));
      all += poured.length;
    }
    // Every tray of a choice is of one of these orders.
    expect(all).toBe(
      [...cups.keys()].filter((key) =>
        orders.some((one) => key.startsWith(`${one['session']} ${one['part']} `)),
      ).length,
    );
  });

  it('to know every question and value of a row', () => {
    const attributes = table('figures')
      .filter(({ figure = '' }) => /^attributes\.\d+\.name$/.test(figure))
      .map(({ text }) => text);
    const words = table('descriptor-counts').map(({ word }) => word);
    const said = [
      'choice',
      'confidence',
      'told apart by',
      'rank',
      'degree of difference',
      'liking',
      'none of these',
      'another word',
    ];
    for (const name of said) expect(readme).toContain(`\`${name}\``);
    const known = new Set([...said, ...attributes, ...words]);
    const rows = table('answers');
    expect(rows.length).toBeGreaterThan(300);
    expect(
      rows
        .map(({ question = '' }) => question.replace(/, after \d+ s$/, ''))
        .filter((one) => !known.has(one)),
    ).toEqual([]);
  });

  it('to know what the verifier does not check', () => {
    for (const { why, what } of NOT_CHECKED) {
      expect(readme).toContain(what.slice(1));
      expect(readme).toContain(why);
    }
  });
});
