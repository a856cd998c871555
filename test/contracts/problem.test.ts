import { readdirSync, readFileSync } from 'node:fs';
import { PROBLEMS } from '@oddglass/shared/contracts/problem.ts';
import { expect, test } from 'vitest';

const root = new URL('../../', import.meta.url).pathname;
const code = readdirSync(`${root}server`, { recursive: true, encoding: 'utf8' })
  .filter((file) => file.endsWith('.ts') && !file.includes('node_modules'))
  .map((file) => readFileSync(`${root}server/${file}`, 'utf8'))
  .join('\n');

// That nothing outside of the catalogue is thrown is the type checker's to hold.
test('every problem of the catalogue is thrown somewhere', () => {
  const unused = Object.keys(PROBLEMS).filter((name) => !code.includes(`'${name}'`));
  expect(unused).toEqual([]);
});

test('every problem says what the caller can do, and has a status that fits', () => {
  for (const [name, { status, title, advice }] of Object.entries(PROBLEMS)) {
    expect(status, name).toBeGreaterThanOrEqual(400);
    expect(title.endsWith('.'), name).toBe(false);
    expect(advice.endsWith('.'), name).toBe(true);
  }
});
