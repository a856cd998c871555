import { globSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { expectWithin } from './within.ts';

// A doc comment that says "Example: `f(x)` is 0.5" is run here, so that it cannot grow old.
const shared = new URL('../../shared/', import.meta.url).pathname;
const files = globSync(['stats/**/*.ts', 'fermentation/*.ts', 'notebook/*.ts', 'simulation/decide.ts'], {
  cwd: shared,
})
  .filter((file) => !file.endsWith('.d.ts'))
  .sort();

interface Example {
  code: string;
  value: string;
}

function examplesOf(source: string): Example[] {
  return [...source.matchAll(/Example:\s(?:\*\s)?`([^`]+)` is (-?[\d.]+(?:e-?\d+)?)/g)].map((match) => ({
    code: match[1] ?? '',
    value: match[2] ?? '',
  }));
}

describe('worked examples of the doc comments', () => {
  it('are found', () => {
    expect(files.length).toBeGreaterThan(15);
  });

  it.each(files)('%s', async (file) => {
    const source = readFileSync(`${shared}${file}`, 'utf8');
    const examples = examplesOf(source);
    const functions = new Set(
      [...source.matchAll(/^export function (\w+)/gm)].map((match) => match[1] ?? ''),
    );
    for (const name of functions) {
      expect(
        examples.some(({ code }) => code.includes(name)),
        `${name} has a worked example`,
      ).toBe(true);
    }
    const exports: Record<string, unknown> = await import(`${shared}${file}`);
    for (const { code, value } of examples) {
      const run = new Function(...Object.keys(exports), `return (${code});`) as (
        ...scope: unknown[]
      ) => unknown;
      const result = run(...Object.values(exports));
      const decimals = value.split('.')[1]?.length ?? 0;
      // Half a unit of the last digit printed; whole numbers and short decimals are meant exactly.
      const tolerance = decimals < 5 ? 1e-14 : 0.500001 * 10 ** -decimals;
      expectWithin(Number(result), Number(value), tolerance, code);
    }
  });
});
