import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import {
  packageDigest,
  packageFiles,
  zipPackage,
  type PackageFile,
} from '@oddglass/shared/publication/package.ts';
import { verifyPackage, verifyPublication, type Check } from '@oddglass/shared/publication/verify.ts';
import { zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { Draw } from '../support/live-r.ts';
import { fixturePublication } from './package-fixture.ts';
import { withNewSums } from './new-sums.ts';

const URL_OF_PAGE = 'https://example.org/p/warm-or-cool';
const publication = fixturePublication();
const files = packageFiles(publication, URL_OF_PAGE);
const CHANGES = 50;

const wrongOf = (checks: readonly Check[]): Check[] => checks.filter(({ ok }) => !ok);
const told = (wrong: readonly Check[]): string =>
  wrong.map(({ name, found, expected }) => `${name}: ${found} / ${expected}`).join('\n');
const textOf = ({ bytes }: PackageFile): string => new TextDecoder().decode(bytes);

/** A ZIP without compression: of fifty changed packages what counts is what is in them. */
const stored = (list: readonly PackageFile[]): Uint8Array =>
  zipSync(Object.fromEntries(list.map(({ path, bytes }) => [path, bytes])), { level: 0 });

type Tree = Record<string, unknown>;
/** A leaf of a JSON value, reached by choosing a branch at every fork, so that small branches are as likely as large ones. */
function leafOf(tree: unknown, draw: Draw): string[] | null {
  if (typeof tree !== 'object' || tree === null) return [];
  const keys = Object.keys(tree);
  if (keys.length === 0) return null;
  const key = keys[draw.whole(0, keys.length - 1)] ?? '';
  const below = leafOf((tree as Tree)[key], draw);
  return below && [key, ...below];
}

function changedValue(value: unknown, draw: Draw): unknown {
  if (typeof value === 'number')
    return Number.isInteger(value) ? value + draw.whole(1, 3) : value * 1.01 + 0.001;
  if (typeof value === 'boolean') return !value;
  if (value === null) return 7;
  const text = String(value);
  const at = draw.whole(0, Math.max(0, text.length - 1));
  return `${text.slice(0, at)}${text[at] === 'e' ? 'f' : 'e'}${text.slice(at + 1)}`;
}

/** A copy with one leaf changed, and the path to it. */
function changed<T>(tree: T, draw: Draw, wanted: (path: string) => boolean): { path: string; tree: T } {
  for (;;) {
    const path = leafOf(tree, draw);
    if (!path || !wanted(path.join('.'))) continue;
    const copy = structuredClone(tree);
    const last = path.at(-1) ?? '';
    const parent = path.slice(0, -1).reduce((one, key) => one[key] as Tree, copy as Tree);
    parent[last] = changedValue(parent[last], draw);
    return { path: path.join('.'), tree: copy };
  }
}

/** The files with one character of one cell, or one value of a JSON file, changed. */
function withChange(
  draw: Draw,
  among: (path: string) => boolean,
  wanted: (file: string, path: string) => boolean,
): { what: string; path: string; files: PackageFile[] } {
  const from = files.filter(({ path }) => among(path));
  const file = from[draw.whole(0, from.length - 1)] as PackageFile;
  let text = textOf(file);
  let what = file.path;
  if (file.path.endsWith('.json')) {
    const { path, tree } = changed(JSON.parse(text) as unknown, draw, (one) => wanted(file.path, one));
    what += ` ${path}`;
    text = `${JSON.stringify(tree, null, 2)}\n`;
  } else {
    let at: number;
    do at = draw.whole(0, text.length - 1);
    while (!/[0-9A-Za-z]/.test(text[at] ?? ''));
    const instead = String(changedValue(text[at], draw));
    what += ` at ${at}: ${text[at]} to ${instead}`;
    text = text.slice(0, at) + instead + text.slice(at + 1);
  }
  const bytes = new TextEncoder().encode(text);
  return {
    what,
    path: file.path,
    files: files.map((one) => (one.path === file.path ? { path: one.path, bytes } : one)),
  };
}

const DATA = (path: string): boolean => path.endsWith('.csv') || path.endsWith('.json');

/**
 * What no check covers but the sums: prose, and how datapackage.json describes columns. Whoever changes one of these and
 * writes the sums anew is found out by the digest on the page alone.
 */
const ONLY_SUMMED: readonly { file: string; path: RegExp }[] = [
  { file: 'result.json', path: /^(panel|question|factor)$/ },
  // Made of result.json, which whoever imports a package makes it of once more.
  { file: 'protocol.json', path: /./ },
  // A description of the files for archives, and what is told elsewhere in the order of a standard.
  { file: 'ro-crate-metadata.json', path: /./ },
  { file: 'report.csv', path: /./ },
  { file: 'result.json', path: /^sessions\.\d+\.plan\b/ },
  { file: 'result.json', path: /^(comments|caveats|methods|disclosure|forests)\b/ },
  { file: 'result.json', path: /^sessions\.\d+\.parts\.\d+\.(caveats|methods)\b/ },
  {
    file: 'datapackage.json',
    path: /^(\$schema|id|profile|name|description|homepage|keywords|contributors|sources|version|created)\b/,
  },
  { file: 'datapackage.json', path: /^licenses\.0\.(path|title)$/ },
  {
    file: 'datapackage.json',
    path: /^resources\.\d+\.(\$schema|type|name|encoding|profile|description|format|mediatype|dialect|schema\.(?!fields\.\d+\.name$))/,
  },
];
const covered = (file: string, path: string): boolean =>
  !ONLY_SUMMED.some((one) => one.file === file && one.path.test(path));

describe('an untouched package', () => {
  // Of the eighth a p was drawn until it was plainly large.
  it.each([1, 2, 3, 4, 5, 8])('verifies (panel %i)', (seed) => {
    const own = packageFiles(fixturePublication(seed), URL_OF_PAGE);
    const checks = verifyPackage(zipPackage(own), packageDigest(own));
    expect(told(wrongOf(checks))).toBe('');
    expect(checks.length).toBeGreaterThan(200);
  });

  it('is checked in everything that a headline stands on', () => {
    const names = verifyPublication(publication)
      .map(({ name }) => name)
      .join('\n');
    for (const what of [
      /\(triangle\): p, exact binomial/,
      /\(triangle\): right in the rows/,
      /\(triangle\): counted over orders|\(three-afc\): answers over orders/,
      /\(preference\): votes for .* in the rows/,
      /\(ranking\): rank sums from the rows/,
      /\(ranking\): Friedman's chi-square/,
      /\(rating\): mean of bitter of s1/,
      /\(control\): mean of degree of difference of s\d/,
      /\(liking\): mean of liking of s\d/,
      /\(description\): banana of s1 in the rows/,
      /\(description\): late question as sealed/,
      /\(description\): stale, after 60 s of s2 in the rows/,
      /\(description\): (clove|stale) of s\d said both times/,
      /\(duo-trio\): orders fit the sealed trays/,
    ]) {
      expect(names).toMatch(what);
    }
  });
});

describe('one changed field', () => {
  it('fails, and the file is named', { timeout: 120_000 }, () => {
    const draw = new Draw(20310320);
    for (let change = 0; change < CHANGES; change += 1) {
      const {
        what,
        path,
        files: own,
      } = withChange(
        draw,
        (one) => DATA(one) || one === 'SHA256SUMS',
        () => true,
      );
      const wrong = wrongOf(verifyPackage(stored(own)));
      expect(wrong.length, what).toBeGreaterThan(0);
      if (path !== 'SHA256SUMS') expect(told(wrong), what).toContain(`sum of ${path}`);
    }
  });

  it('fails with what differs even where all sums were written anew', { timeout: 120_000 }, () => {
    const draw = new Draw(8086);
    const seen = new Set<string>();
    for (let change = 0; change < CHANGES; change += 1) {
      const { what, path, files: own } = withChange(draw, (one) => DATA(one) && covered(one, 'x'), covered);
      const wrong = wrongOf(verifyPackage(stored(withNewSums(own, path))));
      expect(wrong.length, what).toBeGreaterThan(0);
      // The sums are whole: it is the content that is found to differ, by name and with both sides.
      expect(told(wrong), what).not.toMatch(/^sum of/m);
      for (const { found, expected } of wrong) expect(found, what).not.toBe(expected);
      seen.add(path);
    }
    expect(seen.size).toBeGreaterThan(6);
  });

  it('is found by the digest of the page where it is prose and all sums were written anew', () => {
    const draw = new Draw(11);
    for (let change = 0; change < CHANGES; change += 1) {
      const uncovered = (file: string, path: string): boolean => !covered(file, path);
      const { what, path, files: own } = withChange(draw, (one) => one.endsWith('.json'), uncovered);
      const zip = stored(withNewSums(own, path));
      const wrong = wrongOf(verifyPackage(zip, packageDigest(files)));
      expect(told(wrong), what).toMatch(/^digest of the package/m);
    }
  });
});

/**
 * Fields that follow from the seal, the counts or the rows: nobody can change one, whatever else they write anew. Not among
 * them, and so held by sums and digest alone: F tests, intervals, d-prime, permutation p, maps, and words of findings.
 */
const BOUND = [
  /^seal\.(root|fingerprint|size|leaves\.\d+\.(index|kind|nonce|body|proof))/,
  /^samples\.\d+\.(sampleId|part)$/,
  /^parts\.\d+\.(kind|settings\.(alpha|aim|replicates|meaningfulShare|beta|attribute|scale|degrees|cups|cupsEach|intensity|reference))/,
  /^parts\.\d+\.test\.(p|counted|critical|alpha|guessRate|uncorrected|most)$/,
  /^parts\.\d+\.(proportionCounted|votes\.\d+\.votes)$/,
  /^parts\.\d+\.(attributes\.\d+|figures)\.samples\.\d+\.(n|mean)$/,
  /^parts\.\d+\.words\.\d+\.shares\.\d+\.(checked|share)$/,
  /^parts\.\d+\.late\.(seconds|words\.\d+\.shares\.\d+\.(checked|share))$/,
  /^parts\.\d+\.late\.words\.\d+\.beside\.\d+\.(stayed|came)$/,
  /^parts\.\d+\.samples\.\d+\.rankSum$/,
  /^orders\.\d+\.served$/,
];

describe('a package made anew from a changed document', () => {
  it('fails wherever seal, counts or rows say otherwise', { timeout: 120_000 }, () => {
    const draw = new Draw(4242);
    const bound = (path: string): boolean => BOUND.some((one) => one.test(path));
    // Each branch is drawn as often as the others, or the leaves of the seal would take most of the changes.
    const branches = [...BOUND];
    const missed: string[] = [];
    for (let change = 0; change < CHANGES; change += 1) {
      const branch = branches[change % branches.length] as RegExp;
      const { at, path, session } = boundChange(draw, branch, bound);
      const sessions = publication.sessions.map((one, place) => (place === at ? session : one));
      const wrong = wrongOf(verifyPublication({ ...publication, sessions }));
      if (wrong.length === 0) missed.push(`${at} ${path}`);
      for (const { found, expected } of wrong) expect(found).not.toBe(expected);
    }
    expect(missed).toEqual([]);
  });

  it('fails where who opened the key is told with one part and not with another, or counted otherwise', () => {
    const first = publication.sessions.find(({ keyReaders }) => keyReaders !== undefined);
    const wrong = (keyReaders: { accounts: number; invited: number }, without?: number): string =>
      told(
        wrongOf(
          verifyPublication({
            ...publication,
            sessions: publication.sessions.map((one) =>
              one !== first
                ? one
                : {
                    ...one,
                    keyReaders,
                    parts: one.parts.map((part, at) =>
                      at === without
                        ? { ...part, caveats: part.caveats.filter(({ from }) => from !== 'blinding') }
                        : part,
                    ),
                  },
            ),
          }),
        ),
      );
    expect(first?.keyReaders).toEqual({ accounts: 2, invited: 1 });
    expect(wrong({ accounts: 2, invited: 1 })).toBe('');
    expect(wrong({ accounts: 2, invited: 1 }, 0)).toContain('tells of it 0 times');
    expect(wrong({ accounts: 2, invited: 0 })).toContain('differ in whether somebody was invited late');
    expect(wrong({ accounts: 2, invited: 3 })).toContain('3 of 2 accounts');
  });

  it('fails for arms that changed places', () => {
    const sessions = publication.sessions.map((session) => ({
      ...session,
      samples: session.samples.map((sample) => {
        const [first = '', second = ''] = publication.arms.map(({ name }) => name);
        const arm = sample.arm === first ? second : sample.arm === second ? first : sample.arm;
        return { ...sample, arm };
      }),
    }));
    const made = packageFiles({ ...publication, sessions }, URL_OF_PAGE);
    const wrong = wrongOf(verifyPackage(zipPackage(made)));
    expect(told(wrong)).toMatch(
      /opened samples are what they are said to be: sample .* is told as .*Warm.*sealed as .*Cool/,
    );
  });
});

function boundChange(draw: Draw, branch: RegExp, bound: (path: string) => boolean) {
  for (;;) {
    const at = draw.whole(0, publication.sessions.length - 1);
    const original = publication.sessions[at] as Publication['sessions'][number];
    const all = pathsOf(original, '').filter((path) => branch.test(path) && bound(path));
    const path = all[draw.whole(0, Math.max(0, all.length - 1))];
    if (path === undefined) continue;
    const copy = structuredClone(original);
    const keys = path.split('.');
    const parent = keys.slice(0, -1).reduce((one, key) => one[key] as Tree, copy as unknown as Tree);
    const last = keys.at(-1) ?? '';
    // Of rankings the verifier recomputes rank sums and chi-square; their p is exact or by permutation, which it does not do.
    const { kind } = original.parts[Number(keys[1])] ?? {};
    if (kind === 'ranking' && path.endsWith('.test.p')) continue;
    // A figure that is withheld, or has no number, says nothing that could be wrong.
    if (parent[last] === null && !path.startsWith('seal')) continue;
    parent[last] = changedValue(parent[last], draw);
    return { at, path, session: copy };
  }
}

function pathsOf(tree: unknown, path: string): string[] {
  if (typeof tree !== 'object' || tree === null) return [path];
  return Object.entries(tree).flatMap(([key, below]) => pathsOf(below, path === '' ? key : `${path}.${key}`));
}

describe('what is no package', () => {
  it.each([
    ['no ZIP', new TextEncoder().encode('not a zip')],
    ['an empty ZIP', zipPackage([])],
    ['a ZIP without SHA256SUMS', zipPackage(files.filter(({ path }) => path !== 'SHA256SUMS'))],
    [
      'a broken document',
      zipPackage(
        files.map((one) => (one.path === 'result.json' ? { ...one, bytes: new Uint8Array([123]) } : one)),
      ),
    ],
  ])('%s is a failed check, not an exception', (_, zip) => {
    expect(wrongOf(verifyPackage(zip)).length).toBeGreaterThan(0);
  });

  it.each([null, 7, 'text', {}, { arms: [], sessions: null }, { arms: [], sessions: [{}] }])(
    'nor is the document %j',
    (document) => {
      expect(wrongOf(verifyPublication(document)).length).toBeGreaterThan(0);
    },
  );
});

describe('a package packed again', () => {
  const bytes = new Uint8Array([1]);
  const inFolder = files.map((one) => ({ ...one, path: `warm-or-cool/${one.path}` }));
  const litter = [
    '.DS_Store',
    '__MACOSX/._result.json',
    'warm-or-cool/.DS_Store',
    'warm-or-cool/._README.md',
  ];
  it.each([
    ['in another order', [...files].reverse(), ''],
    ['in a folder', inFolder, ''],
    [
      'in a folder with what systems leave there',
      [...inFolder, ...litter.map((path) => ({ path, bytes }))],
      '.DS_Store',
    ],
    ['with a file of somebody else', [...files, { path: 'more.csv', bytes }], 'more.csv'],
  ])('%s verifies, and says what was passed over', (_, list, named) => {
    const checks = verifyPackage(zipPackage(list), packageDigest(files));
    expect(told(wrongOf(checks))).toBe('');
    const passed = checks.filter(({ name }) => name.includes('passed over'));
    expect(passed.map(({ found }) => found).join('')).toContain(named);
    expect(passed.length).toBe(named === '' ? 0 : 1);
  });

  it('stored and not compressed verifies', () => {
    const zip = zipSync(Object.fromEntries(files.map((one) => [one.path, one.bytes])), { level: 0 });
    expect(told(wrongOf(verifyPackage(zip)))).toBe('');
  });

  it('without a file that SHA256SUMS lists fails', () => {
    const wrong = wrongOf(
      verifyPackage(zipPackage(inFolder.filter(({ path }) => !path.endsWith('orders.csv')))),
    );
    expect(told(wrong)).toContain('files in SHA256SUMS');
  });
});

describe('the command', () => {
  const root = new URL('../..', import.meta.url).pathname;
  const run = (...args: string[]) =>
    spawnSync(process.execPath, ['server/verify.ts', ...args], { cwd: root, encoding: 'utf8' });

  it('prints every check, and ends with 1 and what differs for a change', { timeout: 60_000 }, () => {
    const folder = mkdtempSync(join(tmpdir(), 'verify-'));
    try {
      const [good, bad] = ['good.zip', 'bad.zip'].map((name) => join(folder, name)) as [string, string];
      writeFileSync(good, zipPackage(files));
      const forged = structuredClone(publication);
      const triangle = forged.sessions.flatMap(({ parts }) => parts).find(({ kind }) => kind === 'triangle');
      if (triangle?.kind !== 'triangle') throw new Error('the fixture has a triangle');
      const { p } = triangle.test;
      triangle.test.p = 0.0123;
      writeFileSync(bad, zipPackage(packageFiles(forged, URL_OF_PAGE)));

      const right = run(good, packageDigest(files));
      expect(right.stderr).toBe('');
      expect(right.stdout).toMatch(/^ok {6}session \d, part 1 \(triangle\): p, exact binomial/m);
      expect(right.stdout).toMatch(/\d+ checks\. Everything agrees\./);
      expect(right.status).toBe(0);

      const wrong = run(bad);
      expect(wrong.stdout).toMatch(
        /^DIFFERS session \d, part 1 \(triangle\): p, exact binomial: found 0\.0123, expected /m,
      );
      expect(wrong.stdout).toContain(String(p).slice(0, 10));
      expect(wrong.status).toBe(1);

      expect(run(good, 'f'.repeat(64)).stdout).toContain('DIFFERS digest of the package');
      // What was announced before the tasting, alone and beside the package.
      const [{ seal }] = publication.sessions as [Publication['sessions'][number]];
      const settings = seal.leaves.find(({ kind }) => kind === 'settings');
      const plan = join(folder, 'sealed-plan.json');
      writeFileSync(plan, JSON.stringify({ ...seal, settings }));
      expect(run(plan).stdout).toMatch(/^3 checks\. Everything agrees\.$/m);
      expect(run(plan, good)).toMatchObject({ status: 0, stderr: '' });
      writeFileSync(plan, JSON.stringify({ ...seal, settings, size: seal.size + 1 }));
      expect(run(plan, good)).toMatchObject({ status: 1 });
      expect(run(plan, join(folder, 'none.zip')).status).toBe(2);

      expect(run().status).toBe(2);
      expect(run(join(folder, 'none.zip')).status).toBe(2);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});

it('is written against the published format alone', () => {
  const folder = new URL('../../shared/publication/', import.meta.url);
  const own = readdirSync(folder).filter((file) => file.startsWith('verify'));
  const imported = own.flatMap((file) =>
    [...readFileSync(new URL(file, folder), 'utf8').matchAll(/from '([^']+)'/g)].map(([, from = '']) => from),
  );
  const foreign = imported.filter((from) => !/^(@noble\/hashes\/|fflate$|\.\/verify[-a-z]*\.ts$)/.test(from));
  expect(own.length).toBeGreaterThan(0);
  expect(foreign).toEqual([]);
});
