import { readFileSync } from 'node:fs';
import { inWords } from '@oddglass/shared/ground/phrases.ts';
import { AGREED_BELOW, FULL_FROM, tierOf } from '@oddglass/shared/publication/disclosure.ts';
import { expect, test } from 'vitest';

// What is promised at the seat about the size of a group is what publishing keeps to.

const words = readFileSync(
  new URL('../../web/src/lib/receipt/ConsentBoxes.svelte', import.meta.url),
  'utf8',
).replace(/\s+/g, ' ');

test('figures are exact and rough from as many people on as the seat says', () => {
  expect(words).toContain(
    `exact from ${inWords(FULL_FROM)} people on and rough from ${inWords(AGREED_BELOW)}, never a name`,
  );
  expect(words).toContain(`If fewer than ${inWords(AGREED_BELOW)} of us answer,`);
  expect([FULL_FROM, FULL_FROM - 1, AGREED_BELOW, AGREED_BELOW - 1].map(tierOf)).toEqual([
    'full',
    'coarse',
    'coarse',
    'agreed',
  ]);
});
