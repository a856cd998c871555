import { readFileSync, readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { TRIANGLE_ORDERS } from '@oddglass/shared/design/triangle.ts';
import { named, referenceCase, referenceIds } from './reference-case.ts';

const folders = ['../stats/', '../design/'].map((folder) => new URL(folder, import.meta.url));
const source = folders
  .flatMap((folder) =>
    readdirSync(folder)
      .filter((file) => file.endsWith('.ts'))
      .map((file) => readFileSync(new URL(file, folder), 'utf8')),
  )
  .join('\n');

/** Tests that run every case of a kind: referenceIds('power-'), or `psychometric-${test}`. */
const kinds = [...source.matchAll(/referenceIds\('([^']+)'\)|[`]([a-z-]+-)\$\{\w+\}[`]/g)].map(
  (match) => match[1] ?? match[2] ?? '',
);
const isNamed = (id: string): boolean =>
  source.includes(`'${id}'`) || kinds.some((kind) => kind !== '' && id.startsWith(kind));

describe('cases of reference-values.json', () => {
  const ids = referenceIds('');

  it('are 91, each once', () => {
    expect(ids).toHaveLength(91);
    expect(new Set(ids).size).toBe(91);
  });

  it.each(ids)('%s is named in a test', (id) => {
    expect(isNamed(id)).toBe(true);
  });

  it('would be missed if no test named them', () => {
    expect(isNamed(['made', 'up'].join('-'))).toBe(false);
  });
});

describe('serving orders', () => {
  const complete = referenceCase<unknown, Record<string, string[]>>('serving-orders');
  // Sets of tests that cannot be poured yet: there is no plan to compare them with.
  const NOT_SERVED = [
    'duo-trio-balanced-reference',
    'duo-trio-constant-reference',
    '2-AFC',
    '3-AFC (B is the stronger)',
    'tetrad',
  ];

  it(`triangle: ${named(complete)}`, () => {
    expect([...TRIANGLE_ORDERS].sort()).toEqual(complete.expected['triangle']?.toSorted());
  });

  it('of every other test wait for its plan', () => {
    expect(Object.keys(complete.expected)).toEqual(['triangle', ...NOT_SERVED]);
  });
});
