import { spawnSync } from 'node:child_process';
import { chmod, copyFile, mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';

// .ci/run with every program it calls replaced: what npm, the runner and PostgreSQL answer is up to the test.

const root = fileURLToPath(new URL('../..', import.meta.url));
const TOOLS =
  'bash env cat awk chmod dirname grep install ls mktemp printf rm sort tail tee touch sed head tr'.split(
    ' ',
  );
let folder: string;

async function program(path: string, script: string): Promise<void> {
  await writeFile(path, `#!/bin/sh\n${script}\n`);
  await chmod(path, 0o755);
}

beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'oddglass-ci-'));
  for (const name of ['.ci', 'bin', 'postgres', 'node_modules/.bin', 'tmp'])
    await mkdir(join(folder, name), { recursive: true });
  await copyFile(join(root, '.ci/run'), join(folder, '.ci/run'));
  const places = (process.env['PATH'] ?? '').split(delimiter);
  for (const tool of TOOLS) {
    const { stdout } = spawnSync('/bin/sh', ['-c', `command -v ${tool}`], {
      encoding: 'utf8',
      env: { PATH: [...places, '/usr/bin', '/bin'].join(delimiter) },
    });
    if (stdout.startsWith('/')) await symlink(stdout.trim(), join(folder, 'bin', tool));
  }
  await symlink(process.execPath, join(folder, 'bin/node'));
  // An ordinary user, who can install nothing.
  await program(join(folder, 'bin/id'), 'echo 1000');
  await program(
    join(folder, 'bin/npm'),
    `if [ "$1" = ci ]; then exit \${CI_CODE:-0}; fi
if [ "$1 $2" = 'run test:long' ]; then echo "$LONG_SAYS"; exit \${LONG_CODE:-0}; fi
echo "$FIRST_SAYS"; exit \${FIRST_CODE:-0}`,
  );
  await program(
    join(folder, 'node_modules/.bin/node'),
    `echo "$DATABASE_URL" >"${folder}/asked"; echo "$SECOND_SAYS"; exit \${SECOND_CODE:-0}`,
  );
  await program(join(folder, 'postgres/initdb'), 'exit ${INITDB_CODE:-0}');
  await program(join(folder, 'postgres/pg_ctl'), 'exit ${START_CODE:-0}');
  await program(join(folder, 'postgres/postgres'), 'echo PostgreSQL');
});

afterEach(() => rm(folder, { recursive: true, force: true }));

const GREEN = {
  FIRST_SAYS: '5 passed, 0 failed, 2 skipped',
  LONG_SAYS: '2 passed, 0 failed',
  SECOND_SAYS: '3 passed, 0 failed',
};

function run(env: Record<string, string>): { code: number | null; out: string; last: string | undefined } {
  const { status, stdout, stderr } = spawnSync('/bin/bash', [join(folder, '.ci/run')], {
    encoding: 'utf8',
    env: {
      PATH: join(folder, 'bin'),
      TMPDIR: join(folder, 'tmp'),
      CHROMIUM_PATH: '/named',
      POSTGRES_BIN: join(folder, 'postgres'),
      ...GREEN,
      ...env,
    },
  });
  return { code: status, out: stdout + stderr, last: stdout.trim().split('\n').at(-1) };
}

describe('.ci/run', () => {
  test('ends with 0 and the counts of all runs when all are green', async () => {
    const { code, last, out } = run({});
    expect(last, out).toBe('10 passed, 0 failed');
    expect(code).toBe(0);
    expect(await readFile(join(folder, 'asked'), 'utf8')).toMatch(
      /^postgres:\/\/oddglass:\w+@127\.0\.0\.1:\d+\//,
    );
  });

  test.each<[what: string, env: Record<string, string>, last: string]>([
    ['a test fails', { FIRST_SAYS: '4 passed, 1 failed', FIRST_CODE: '1' }, '9 passed, 1 failed'],
    ['the first run ends with 1 and says nothing is wrong', { FIRST_CODE: '1' }, '10 passed, 1 failed'],
    [
      'the first run ends with 0 and says something is wrong',
      { FIRST_SAYS: '4 passed, 1 failed' },
      '9 passed, 1 failed',
    ],
    [
      'the first run is killed before its last line',
      { FIRST_SAYS: 'ok', FIRST_CODE: '137' },
      '5 passed, 1 failed',
    ],
    ['the first run has no last line and ends with 0', { FIRST_SAYS: 'ok' }, '5 passed, 1 failed'],
    [
      'a test fails in the second run',
      { SECOND_SAYS: '2 passed, 1 failed', SECOND_CODE: '1' },
      '9 passed, 1 failed',
    ],
    ['a long test fails', { LONG_SAYS: '1 passed, 1 failed', LONG_CODE: '1' }, '9 passed, 1 failed'],
    ['the long tests end with 0 and say nothing', { LONG_SAYS: '' }, '8 passed, 1 failed'],
    ['the second run ends with 1', { SECOND_CODE: '1' }, '10 passed, 1 failed'],
    ['there is no cluster to be made', { INITDB_CODE: '1' }, '7 passed, 1 failed'],
    ['the outside database does not start', { START_CODE: '1' }, '7 passed, 1 failed'],
    ['there is no outside database', { POSTGRES_BIN: '/nowhere' }, '7 passed, 1 failed'],
    ['there is no browser, and none can be brought', { CHROMIUM_PATH: '' }, '10 passed, 1 failed'],
  ])('ends with 1 when %s', (_, env, last) => {
    const found = run(env);
    expect(found.last, found.out).toBe(last);
    expect(found.code).toBe(1);
  });

  test('ends with 1 at once when packages cannot be installed', () => {
    const { code, out } = run({ CI_CODE: '1' });
    expect(code).toBe(1);
    expect(out).not.toContain('passed');
  });
});
