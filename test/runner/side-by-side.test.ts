import { relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import { FixtureProject, runAndRead, type RunResult } from '../support/fixture-run.ts';

// Static checks and the build run two at a time. Each is told as a whole, and one that waits for another comes after it.

const root = fileURLToPath(new URL('../..', import.meta.url));
let project: FixtureProject | undefined;
afterEach(() => project?.remove());

/** Says that it began, waits for `until` to be there, and says that it ended; or ends with 1 after ten seconds. */
const meets = (name: string, until: string): string => `
import { existsSync, writeFileSync } from 'node:fs';
writeFileSync(new URL('./${name}-began', import.meta.url), '');
console.log('${name} begins');
const late = Date.now() + 10_000;
while (!existsSync(new URL('./${until}', import.meta.url))) {
  if (Date.now() > late) { console.log('${name} waited in vain'); process.exit(1); }
  await new Promise((resolve) => setTimeout(resolve, 20));
}
writeFileSync(new URL('./${name}-ended', import.meta.url), '');
console.log('${name} ends');
`;

async function runTogether(
  files: Record<string, string>,
  after: Record<string, string> = {},
): Promise<RunResult> {
  const parts = Object.keys(files).map((name) => ({ name, ...(after[name] && { after: after[name] }) }));
  project = await FixtureProject.of({
    ...Object.fromEntries(Object.entries(files).map(([name, text]) => [`${name}.ts`, text])),
  });
  const { folder } = project;
  await project.write(
    'run.ts',
    `import { runParts } from '${root}test/support/parts.ts';
const parts = ${JSON.stringify(parts.map((part) => ({ ...part, file: relative(root, `${folder}/${part.name}.ts`) })))};
await runParts(parts);`,
  );
  return runAndRead(`${folder}/run.ts`, [], {});
}

test('two run at once, and what each says stays together', async () => {
  const { code, out, summary } = await runTogether({
    one: meets('one', 'two-began'),
    two: meets('two', 'one-began'),
  });
  expect(out).toContain('=== one\none begins\none ends\n');
  expect(out).toContain('=== two\ntwo begins\ntwo ends\n');
  expect(summary).toMatch(/ok +one .*\nok +two .*\n\n2 passed, 0 failed\n$/);
  expect(code).toBe(0);
});

test('what waits for another begins after it, and a third is not held up by that', async () => {
  const { out, code } = await runTogether(
    {
      first: meets('first', 'other-began'),
      second: meets('second', 'first-ended'),
      other: meets('other', 'first-began'),
    },
    { second: 'first' },
  );
  expect(out.indexOf('=== second')).toBeGreaterThan(out.indexOf('=== first'));
  expect(out).not.toContain('in vain');
  expect(code).toBe(0);
});

test('one that fails is red, the others are told all the same', async () => {
  const { code, summary } = await runTogether({
    bad: 'console.log("soured"); process.exit(3);',
    good: 'console.log("clean");',
  });
  expect(summary).toMatch(/FAILED +bad .*\nok +good .*\n\n1 passed, 1 failed\n$/);
  expect(code).toBe(1);
});
