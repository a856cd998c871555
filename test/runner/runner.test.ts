import { randomUUID } from 'node:crypto';
import { readdir, readFile, rm } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { FixtureProject, runAndRead, type RunResult } from '../support/fixture-run.ts';
import { runs } from '../support/started.ts';

// The gate itself: the real runner, in a process of its own, over small projects that are broken in one way each. The
// folder decides which of the real projects a file belongs to; those of the API start the real test database.

const PROJECTS = {
  unit: { part: 'unit tests', folder: 'test/stats' },
  api: { part: 'API tests', folder: 'test/server' },
} as const;
type Name = keyof typeof PROJECTS;

const IMPORT = "import { afterAll, beforeAll, describe, expect, test } from 'vitest';\n";
const GOOD = `${IMPORT}test('adds', () => expect(1 + 1).toBe(2));\n`;

let project: FixtureProject | undefined;
afterEach(() => project?.remove());

/** One good file beside `bad`; both are recorded with `tests` each. */
async function runWith(name: Name, bad: string | null, args: string[] = [], tests = 1): Promise<RunResult> {
  const { part, folder } = PROJECTS[name];
  const recorded = { [name]: { [`${folder}/bad.test.ts`]: tests, [`${folder}/good.test.ts`]: 1 } };
  project = await FixtureProject.of({
    [`${folder}/good.test.ts`]: GOOD,
    ...(bad !== null && { [`${folder}/bad.test.ts`]: `${IMPORT}${bad}` }),
    'test/expected-tests.json': JSON.stringify(recorded),
  });
  return project.run([part, ...args]);
}

const BROKEN: [what: string, file: string, says: RegExp, args?: string[]][] = [
  [
    'a test fails',
    "test('x', () => expect(1).toBe(2));",
    /1 passed, 1 failed, .*\n.*bad\.test\.ts: x: AssertionError: expected 1 to be 2/,
  ],
  [
    'an import is broken',
    "import './not-there.ts';\ntest('x', () => undefined);",
    /bad\.test\.ts: .*not-there/,
  ],
  [
    'a hook before the tests throws',
    "beforeAll(() => { throw new Error('no cellar'); });\ntest('x', () => undefined);",
    /bad\.test\.ts: Error: no cellar\n.*bad\.test\.ts: x: did not run/,
  ],
  ['a test hangs', "test('x', { timeout: 200 }, () => new Promise(() => undefined));", /1 passed, 1 failed/],
];

describe.each(Object.keys(PROJECTS) as Name[])('the %s project ends with 1', (name) => {
  test.each(BROKEN)('when %s', async (_, bad, says) => {
    const { code, summary } = await runWith(name, bad);
    expect(summary).toMatch(says);
    expect(summary).toMatch(/^FAILED/m);
    expect(code).toBe(1);
  });

  test('when one file is run by itself, without the runner', async () => {
    const { folder } = PROJECTS[name];
    const file = `${folder}/bad.test.ts`;
    project = await FixtureProject.of({ [file]: `${IMPORT}test('x', () => expect(1).toBe(2));` });
    expect((await project.runFile(name, file)).code).toBe(1);
    await project.write(file, GOOD);
    expect((await project.runFile(name, file)).code).toBe(0);
  });
});

describe('the runner ends with 1', () => {
  test.each<[what: string, file: string | null, says: RegExp, tests?: number]>([
    [
      'a hook of a group throws',
      "describe('g', () => { beforeAll(() => { throw new Error('no'); }); test('x', () => undefined); });",
      /bad\.test\.ts: Error: no\n/,
    ],
    [
      'a hook after the tests throws',
      "test('x', () => undefined); afterAll(() => { throw new Error('late'); });",
      /bad\.test\.ts: Error: late\n/,
    ],
    [
      'something throws outside of every test',
      "test('x', async () => { setTimeout(() => { throw new Error('stray'); }); await new Promise((r) => setTimeout(r, 50)); });",
      /outside of the tests: Error: stray/,
    ],
    ['a worker dies', "test('x', () => process.kill(process.pid, 'SIGKILL'));", /bad\.test\.ts/],
    ['a file vanished', null, /bad\.test\.ts: did not run; 1 test recorded/],
    ['a file lost a test', "test('x', () => undefined);", /bad\.test\.ts: 1 test, 2 recorded/, 2],
    ['a file lost all tests', "describe.skipIf(false)('none', () => undefined);", /bad\.test\.ts/],
    [
      'a test is skipped for no reason',
      "test.skip('x', () => undefined);",
      /bad\.test\.ts: x: may not be skipped \(no reason given\)/,
    ],
    [
      'a test is skipped for a reason of its own',
      "test('x', ({ skip }) => skip('not on this machine: patience'));",
      /may not be skipped \(not on this machine: patience\)/,
    ],
    ['a test is left for later', "test.todo('x');", /bad\.test\.ts: x: may not be skipped/],
    [
      'one test is run alone',
      "test.only('x', () => undefined); test('y', () => undefined);",
      /bad\.test\.ts: .*y/,
    ],
  ])('when %s', async (_, bad, says, tests) => {
    const { code, summary } = await runWith('unit', bad, [], tests);
    expect(summary).toMatch(says);
    expect(code).toBe(1);
  });

  test(
    'when a test never gives its turn back: it is stopped, and so is all it started',
    { timeout: 120_000 },
    async () => {
      const pids = `${randomUUID()}.json`;
      const { code, summary } = await runWith(
        'api',
        `test('x', async () => {
        const { inject } = await import('vitest');
        const { spawn } = await import('node:child_process');
        const { writeFileSync } = await import('node:fs');
        const { pid } = spawn('sleep', ['600'], { detached: true });
        writeFileSync('${join(tmpdir(), pids)}', JSON.stringify({ pid, port: Number(new URL(inject('postgres').adminUrl).port) }));
        for (;;);
      });`,
        ['--limit-seconds', '30'],
      );
      expect(summary).toMatch(/did not end in time and was stopped, at test\/server\/bad\.test\.ts/);
      expect(code).toBe(1);
      const kept = join(tmpdir(), pids);
      const { pid, port } = JSON.parse(await readFile(kept, 'utf8')) as { pid: number; port: number };
      await rm(kept);
      expect(runs(pid)).toBe(false);
      const left = await readdir(join(project?.folder ?? '', 'tmp'));
      expect(left.filter((name) => name.startsWith('oddglass-'))).toEqual([]);
      const refused = await new Promise((resolve) => {
        const socket = connect(port, '127.0.0.1');
        socket.once('error', (error: NodeJS.ErrnoException) => resolve(error.code));
        socket.once('connect', () => resolve(socket.destroy()));
      });
      expect(refused).toBe('ECONNREFUSED');
    },
  );

  test('when there is no browser, or no database, in one line beside every file that did not run', async () => {
    project = await FixtureProject.of({
      'test/flow/evening.test.ts': GOOD,
      'test/server/good.test.ts': GOOD,
      'test/expected-tests.json': JSON.stringify({
        browser: { 'test/flow/evening.test.ts': 1 },
        api: { 'test/server/good.test.ts': 1 },
      }),
    });
    const browser = await project.run(['browser tests'], { CHROMIUM_PATH: '/nonexistent' });
    expect(browser.summary).toContain('No Chromium: CHROMIUM_PATH names /nonexistent, and there is none.');
    expect(browser.summary).toContain('test/flow/evening.test.ts: did not run; 1 test recorded');
    expect(browser.code).toBe(1);
    const database = await project.run(['API tests'], { TEST_DATABASE_URL: 'postgres://a:b@127.0.0.1:1/x' });
    expect(database.summary).toMatch(/outside of the tests: .*ECONNREFUSED/);
    expect(database.code).toBe(1);
  });

  test('when nothing is recorded, or nobody knows the part', async () => {
    project = await FixtureProject.of({ 'test/stats/good.test.ts': GOOD });
    const { code, summary } = await project.run(['unit tests']);
    expect(summary).toContain('no test is recorded: npm test -- --record');
    expect(code).toBe(1);
    expect((await runAndRead('test/run.ts', ['unit test'], {})).code).toBe(1);
    expect((await runAndRead('test/run.ts', ['unit tests', '--limit-seconds', '0'], {})).code).toBe(1);
    expect((await runAndRead('test/run.ts', ['--recrd'], {})).code).not.toBe(0);
  });
});

describe('the runner ends with 0', () => {
  test('when all is as recorded, and tells the reason of each test left out', async () => {
    const bad = "test('x', ({ skip }) => skip('not on this machine: R package ordinal'));";
    const { code, summary } = await runWith('unit', bad);
    expect(summary).toContain('1 skipped: not on this machine: R package ordinal');
    expect(summary).toMatch(/\n1 passed, 0 failed, 1 skipped\n$/);
    expect(code).toBe(0);
  });

  test('when there is more than recorded, and says so; --record raises the record, but not after a failure', async () => {
    const { code, summary } = await runWith(
      'unit',
      "test('x', () => undefined); test('y', () => undefined);",
    );
    expect(summary).toContain('1 test in 1 files not recorded yet: npm test -- --record');
    expect(code).toBe(0);

    const path = join(project?.folder ?? '', 'test/expected-tests.json');
    const kept = async () => JSON.parse(await readFile(path, 'utf8')) as unknown;
    expect((await project?.run(['unit tests', '--record']))?.code).toBe(0);
    const record = { unit: { 'test/stats/bad.test.ts': 2, 'test/stats/good.test.ts': 1 } };
    expect(await kept()).toEqual(record);
    await project?.write('test/stats/new.test.ts', `${IMPORT}test('z', () => expect(1).toBe(2));`);
    expect((await project?.run(['unit tests', '--record']))?.code).toBe(1);
    expect(await kept()).toEqual(record);
  });
});
