// npm run db:generate -- [--name what-changed]: a migration from what changed in the schema. drizzle-kit ends with 0 also
// when it wrote none, because nobody answered its question or it failed on the way: so it is asked once more, on a copy.
import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join, relative } from 'node:path';
import { parseArgs } from 'node:util';
import config from './drizzle.config.ts';

const { values } = parseArgs({
  options: {
    name: { type: 'string' },
    schema: { type: 'string', default: String(config.schema) },
    out: { type: 'string', default: String(config.out) },
  },
});
const kit = join(dirname(createRequire(import.meta.url).resolve('drizzle-kit')), 'bin.cjs');
// drizzle-kit reads what it wrote before by a path from here only.
const command = (out: string) => [
  kit,
  'generate',
  `--dialect=${config.dialect}`,
  `--schema=${values.schema}`,
  `--out=${relative('.', out)}`,
];
const named = values.name === undefined ? [] : [`--name=${values.name}`];
const { status } = spawnSync(process.execPath, [...command(values.out), ...named], { stdio: 'inherit' });
if (status !== 0) process.exitCode = status ?? 1;
else if (!isComplete()) {
  console.error(
    'The migrations do not lead to the schema: answer its questions in a terminal, and look at the SQL.',
  );
  process.exitCode = 1;
}

function isComplete(): boolean {
  const copy = mkdtempSync(join(tmpdir(), 'oddglass-migrations-'));
  try {
    if (existsSync(values.out)) cpSync(values.out, copy, { recursive: true });
    const { stdout } = spawnSync(process.execPath, command(copy), {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    return stdout.includes('No schema changes');
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
}
