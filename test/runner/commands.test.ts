import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, test } from 'vitest';
import { FixtureProject, runAndRead } from '../support/fixture-run.ts';

// Commands whose failure once looked like success.

let project: FixtureProject | undefined;
afterEach(() => project?.remove());

describe('npm run db:generate', () => {
  const table = (column: string) =>
    `import { pgTable, text } from 'drizzle-orm/pg-core';\nexport const a = pgTable('a', { one: text('${column}') });\n`;

  test('ends with 1 when drizzle-kit asks what nobody answers, and writes nothing', async () => {
    project = await FixtureProject.of({ 'schema/a.ts': table('one') });
    const { folder } = project;
    const generate = () =>
      runAndRead('db/generate.ts', [`--schema=${folder}/schema/*.ts`, `--out=${folder}/migrations`], {});
    expect((await generate()).code).toBe(0);
    expect((await generate()).code).toBe(0);
    await project.write('schema/a.ts', table('two'));
    const renamed = await generate();
    expect(renamed.out).toContain('The migrations do not lead to the schema');
    expect(renamed.code).toBe(1);
    const journal = await readFile(join(folder, 'migrations/meta/_journal.json'), 'utf8');
    expect((JSON.parse(journal) as { entries: unknown[] }).entries).toHaveLength(1);
  });

  test('ends with another code than 0 when there is no schema', async () => {
    project = await FixtureProject.of({});
    const { folder } = project;
    const args = [`--schema=${folder}/schema/*.ts`, `--out=${folder}/migrations`];
    expect((await runAndRead('db/generate.ts', args, {})).code).toBe(1);
  });
});

describe('npm run faults', () => {
  test.each([['none'], ['0'], ['1.5'], ['2', '0']])('does not run on %s', async (...counts) => {
    const { code, out } = await runAndRead('test/faults.ts', counts, {});
    expect(out).toContain('whole numbers from 1');
    expect(code).toBe(1);
  });
});

describe('the scripts of package.json', () => {
  test('hide no exit code behind a pipe, a semicolon or an alternative', async () => {
    const root = fileURLToPath(new URL('../..', import.meta.url));
    for (const file of ['package.json', 'web/package.json']) {
      const { scripts } = JSON.parse(await readFile(join(root, file), 'utf8')) as {
        scripts: Record<string, string>;
      };
      for (const [name, script] of Object.entries(scripts))
        expect(script, name).not.toMatch(/\||;|[^&]&[^&]/);
    }
  });
});
