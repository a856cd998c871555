import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, posix } from 'node:path';
import { SETTINGS } from '@oddglass/server/boot/config.ts';
import { describe, expect, test } from 'vitest';
import { ROOT } from './house.ts';

// What README and guide name is there: every file, folder, command, part of a run and setting.

const DOCUMENTS = ['README.md', 'DEVELOPERS.md'];
const ROOMS = ['.ci', 'shared', 'db', 'server', 'web', 'test'];
// Not of this tree: what a publication's folder holds, what is made on a machine, and packages one names by command.
const ELSEWHERE =
  /^(verify\.html|index\.html|(package|plan)\.(zip|json)( .*)?|\.\/data|\.bin\/node|node_modules\/.*|test\/\.artifacts(\/.*)?|result\.json|\.csv)$/;
const FILE = /\.(ts|js|svelte|json|md|txt|R|yml)$/;

const textOf = (document: string): string => readFileSync(join(ROOT, document), 'utf8');

/** What stands in backticks, and lines of fences. */
function codeIn(text: string): string[] {
  const fences = [...text.matchAll(/^```\n([\s\S]*?)^```/gm)].flatMap(([, inside = '']) =>
    inside.split('\n'),
  );
  const prose = text.replaceAll(/^```\n[\s\S]*?^```/gm, '');
  return [...fences, ...[...prose.matchAll(/`([^`]+)`/g)].map(([, inside = '']) => inside)];
}

/** Files and folders of the tree, folders with a slash at the end. */
function tree(): string[] {
  const found = ROOMS.flatMap((room) =>
    readdirSync(join(ROOT, room), { recursive: true, withFileTypes: true })
      .map(
        (entry) =>
          posix.join(entry.parentPath.slice(ROOT.length), entry.name) + (entry.isDirectory() ? '/' : ''),
      )
      .filter((path) => !/(^|\/)(node_modules|build|\.svelte-kit|\.artifacts)\//.test(path)),
  );
  const top = readdirSync(ROOT, { withFileTypes: true }).filter((entry) => entry.isFile());
  return [...found, ...ROOMS.map((room) => `${room}/`), ...top.map(({ name }) => name)];
}

const looksLikePath = (code: string): boolean =>
  /^[\w.@<>*{},-]+(\/[\w.@<>*{}, -]*)*$/.test(code) &&
  (FILE.test(code) || ROOMS.includes(code.split('/')[0] ?? '') || /^\w[\w-]*\/([\w-]+\/)*$/.test(code)) &&
  !ELSEWHERE.test(code);

/** Is it there, from the root or, where it does not begin with a room, somewhere? Of `{a,b}` each. */
function isThere(path: string, all: readonly string[]): boolean {
  const [, before = '', either = '', after = ''] = /^(.*?)\{([^}]*)\}(.*)$/.exec(path) ?? [];
  if (either !== '') return either.split(',').every((one) => isThere(before + one + after, all));
  const name = path
    .replace(/\/$/, '')
    .replaceAll(/[.+$^()|[\]]/g, String.raw`\$&`)
    .replaceAll(/<[^>]*>|\*/g, '[^/]*');
  const anywhere = ROOMS.includes(path.split('/')[0] ?? '') ? '' : '(.*/)?';
  const pattern = new RegExp(`^${anywhere}${name}/?$`);
  return all.some((one) => pattern.test(one));
}

const { scripts } = JSON.parse(textOf('package.json')) as { scripts: Record<string, string> };
const runner =
  readFileSync(join(ROOT, 'test/run.ts'), 'utf8') + readFileSync(join(ROOT, 'test/support/parts.ts'), 'utf8');
const parts = [...runner.matchAll(/name: '([^']+)'/g)].map(([, name = '']) => name);

/** What is wrong with a command, or null. */
function wrongWith(command: string): string | null {
  const words = command.trim().replace(/^(\w+=\S* )+/, '');
  const [, script] = /^npm (?:run )?([\w:-]+)/.exec(words) ?? [];
  if (script && !['ci', 'install'].includes(script) && !(script in scripts)) return `no script ${script}`;
  for (const [, file = ''] of words.matchAll(/(?:^|exec app )node (\S+)/g))
    if (!existsSync(join(ROOT, file))) return `no file ${file}`;
  for (const [, file = ''] of words.matchAll(/^npx .*?(test\/\S+\.ts)(?:$| )/g))
    if (!existsSync(join(ROOT, file))) return `no file ${file}`;
  if (/^npm test -- /.test(words))
    for (const [, part = ''] of words.matchAll(/'([^']+)'/g))
      if (!parts.includes(part)) return `no part ${part}`;
  return null;
}

describe.each(DOCUMENTS)('%s', (document) => {
  const code = codeIn(textOf(document));

  test('names files and folders that are there', () => {
    const all = tree();
    const named = code.filter(looksLikePath);
    expect(named.length).toBeGreaterThan(document === 'README.md' ? 1 : 80);
    expect(named.filter((path) => !isThere(path, all))).toEqual([]);
  });

  test('names commands that are there', () => {
    const commands = code
      .flatMap((line) => line.split('&&'))
      .filter((line) => /\b(npm|npx|node) /.test(line));
    expect(commands.length).toBeGreaterThan(5);
    expect(commands.map(wrongWith).filter((wrong) => wrong !== null)).toEqual([]);
  });

  test('leads with its links to what is there', () => {
    const links = [...textOf(document).matchAll(/\]\(([^)#:]+)\)/g)].map(([, to = '']) => to);
    expect(links.filter((to) => !existsSync(join(ROOT, to)))).toEqual([]);
  });
});

test('the house as drawn is the house', () => {
  const drawn = /^```\n(shared\/[\s\S]*?)^```/m.exec(textOf('DEVELOPERS.md'))?.[1]?.split('\n') ?? [];
  const folders = drawn.flatMap((line, at) => {
    const [, indent = '', name = ''] = /^( *)([\w/-]+\/)\s/.exec(line) ?? [];
    if (name === '') return [];
    const above = drawn.slice(0, at).findLast((before) => /^\w+\//.test(before));
    const room = indent === '' ? '' : (/^\w+\//.exec(above ?? '')?.[0] ?? '');
    return [room + name];
  });
  expect(folders.length).toBeGreaterThan(25);
  const places = (folder: string): string[] => [folder, folder.replace('web/', 'web/src/')];
  expect(folders.filter((folder) => !places(folder).some((place) => existsSync(join(ROOT, place))))).toEqual(
    [],
  );
  // And nothing of the two rooms that are drawn whole is left out.
  for (const room of ['shared', 'server']) {
    const real = readdirSync(join(ROOT, room), { withFileTypes: true })
      .filter((entry) => entry.isDirectory() && !['node_modules', 'brought-node'].includes(entry.name))
      .map(({ name }) => `${room}/${name}/`);
    expect(real.filter((folder) => !folders.includes(folder))).toEqual([]);
  }
});

test('README tells every setting, and no other', () => {
  const rows = [...textOf('README.md').matchAll(/^\| (`[A-Z_`, ]+`) +\|/gm)].map(([, names = '']) => names);
  const told = rows.flatMap((names) => [...names.matchAll(/`([A-Z_]+)`/g)].map(([, name = '']) => name));
  expect(told.sort()).toEqual([...SETTINGS].sort());
});

test('no script is unknown to both documents', () => {
  const all = DOCUMENTS.map(textOf).join('\n');
  const unknown = Object.keys(scripts).filter(
    (name) => name !== 'postinstall' && !new RegExp(`npm (run )?${name}\\b`).test(all),
  );
  expect(unknown).toEqual([]);
});

describe('what is not there is told', () => {
  test.each([
    ['npm run brew', 'no script brew'],
    ['PORT=1 npm run brew -- x', 'no script brew'],
    ['node server/brew.ts', 'no file server/brew.ts'],
    ["npm test -- 'cellar tests'", 'no part cellar tests'],
    ['npm ci', null],
    ["npm test -- 'unit tests'", null],
  ])('%s', (command, wrong) => expect(wrongWith(command)).toBe(wrong));

  test.each([
    ['shared/cellar.ts', false],
    ['cellar.ts', false],
    ['shared/kinds/<kind>.ts', true],
    ['rules/parts.ts', true],
    ['rules/{parts,cellar}.ts', false],
    ['web/src/lib/seat', true],
    ['web/src/lib/cellar/', false],
  ])('%s', (path, there) => {
    expect(looksLikePath(path)).toBe(true);
    expect(isThere(path, tree())).toBe(there);
  });
});
