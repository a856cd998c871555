import { readFileSync, readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { DUO_TRIO_BALANCED_ORDERS, DUO_TRIO_CONSTANT_ORDERS } from '@oddglass/shared/kinds/duo-trio.ts';
import { PAIR_ORDERS } from '@oddglass/shared/kinds/choice.ts';
import { THREE_AFC_ORDERS } from '@oddglass/shared/kinds/three-afc.ts';
import { TETRAD_ORDERS } from '@oddglass/shared/kinds/tetrad.ts';
import { TWO_OUT_OF_FIVE_ORDERS } from '@oddglass/shared/kinds/two-out-of-five.ts';
import { TRIANGLE_ORDERS } from '@oddglass/shared/kinds/triangle.ts';
import { named, referenceCase, referenceIds } from './reference-case.ts';

const folders = ['../stats/', '../design/', '../ground/', '../fermentation/'].map(
  (folder) => new URL(folder, import.meta.url),
);
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
    expect(ids).toHaveLength(92);
    expect(new Set(ids).size).toBe(92);
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
  /** An order as the reference set writes it: the reference of a duo-trio apart. */
  const withReference = (order: string) => `R=${order.charAt(0)}:${order.slice(1)}`;
  const served: Record<string, readonly string[]> = {
    triangle: TRIANGLE_ORDERS,
    'duo-trio-balanced-reference': DUO_TRIO_BALANCED_ORDERS.map(withReference),
    'duo-trio-constant-reference': DUO_TRIO_CONSTANT_ORDERS.map(withReference),
    '2-AFC': PAIR_ORDERS,
    '3-AFC (B is the stronger)': THREE_AFC_ORDERS,
    tetrad: TETRAD_ORDERS,
    'two-out-of-five': TWO_OUT_OF_FIVE_ORDERS,
  };

  it.each(Object.keys(complete.expected))(`%s: ${named(complete)}`, (test) => {
    expect(served[test]?.toSorted()).toEqual(complete.expected[test]?.toSorted());
  });

  it('are those of the tests that are served, and no others', () => {
    expect(Object.keys(served)).toEqual(Object.keys(complete.expected));
  });
});
