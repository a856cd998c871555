import { globSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { AREAS, SHORT } from '../mutants/areas.ts';
import { currentReport, keptReport } from '../mutants/keep.ts';
import { NINETEEN } from '../mutants/nineteen-list.ts';
import { judge, readSurvivors, type Survivors, type Unnoticed } from '../mutants/survivors.ts';

// What the mutation run stands on, looked at with every other test: it takes long, and runs seldom.

const root = fileURLToPath(new URL('../..', import.meta.url));

describe.each([...AREAS, SHORT])('the area $name', ({ mutate, tests }) => {
  test.each([...mutate, ...tests])('has files for %s', (glob) => {
    // Each name in braces is one that has to be there.
    for (const one of spelled(glob)) expect(globSync(one, { cwd: root }), one).not.toEqual([]);
  });
});

/** A glob with braces as the globs it stands for. */
function spelled(glob: string): string[] {
  const braces = /\{([^{}]*)\}/.exec(glob);
  if (!braces) return [glob];
  return (braces[1] ?? '').split(',').flatMap((word) => spelled(glob.replace(braces[0], word)));
}

test('the nineteen that once lived can still be planted, each in one place, and their tests are there', () => {
  expect(NINETEEN).toHaveLength(19);
  for (const { file, from, test: noticed } of NINETEEN) {
    expect([file, readFileSync(`${root}${file}`, 'utf8').split(from).length - 1]).toEqual([file, 1]);
    expect(globSync(noticed, { cwd: root })).toHaveLength(1);
  }
});

test('the report tells what the last runs found, each area and each of the nineteen by name', async () => {
  const report = await keptReport();
  expect(report).toBe(await currentReport());
  for (const { name } of AREAS) expect(report).toMatch(new RegExp(`^\\| ${name} +\\|`, 'm'));
  for (const { mistake, title } of NINETEEN) {
    expect(report).toContain(mistake);
    expect(report).toContain(title);
  }
});

test('survivors are explained by lines that stand in their files', async () => {
  for (const [file, explained] of Object.entries(await readSurvivors())) {
    const lines = readFileSync(`${root}${file}`, 'utf8')
      .split('\n')
      .map((line) => line.trim());
    expect(explained.filter(({ line }) => !lines.includes(line)).map(({ line }) => line)).toEqual([]);
  }
});

describe('a mutant that lives', () => {
  const lives: Unnoticed = { file: 'a.ts', at: 7, line: 'if (one < two) return;', change: '< -> <=' };
  const explained = (times: number): Survivors => ({
    'a.ts': [
      { line: lives.line, change: lives.change, times, because: 'equivalent', why: 'they are never equal' },
    ],
  });

  test('is fresh when nothing explains it, whatever explains others', () => {
    expect(judge([lives], {}, ['a.ts']).fresh).toEqual([lives]);
    expect(judge([{ ...lives, change: '< -> >' }], explained(1), ['a.ts']).fresh).toHaveLength(1);
    expect(judge([{ ...lives, line: 'if (one < two) go();' }], explained(1), ['a.ts']).fresh).toHaveLength(1);
    expect(judge([{ ...lives, file: 'b.ts' }], explained(1), ['a.ts', 'b.ts']).fresh).toHaveLength(1);
  });
  test('is explained as often as it was looked at, wherever its line went', () => {
    const moved = { ...lives, at: 90 };
    expect(judge([moved], explained(1), ['a.ts'])).toEqual({ fresh: [], stale: [] });
    expect(judge([lives, moved], explained(1), ['a.ts']).fresh).toEqual([moved]);
    expect(judge([lives, moved], explained(2), ['a.ts'])).toEqual({ fresh: [], stale: [] });
  });
  test('that no longer does leaves a stale explanation, unless its file was not looked at', () => {
    const { line, change } = lives;
    expect(judge([], explained(1), ['a.ts']).stale).toEqual([{ file: 'a.ts', line, change }]);
    expect(judge([lives], explained(2), ['a.ts']).stale).toHaveLength(1);
    expect(judge([], explained(1), ['b.ts']).stale).toEqual([]);
  });
});
