import { pInWords, percent, timesIn } from '@oddglass/shared/ground/phrases.ts';
import { expect, test } from 'vitest';

test('numbers for reading claim nothing that was not reached', () => {
  expect(['0.0001', 0.0004, 0.004, 0.9999, 1].map((p) => pInWords(Number(p)))).toEqual([
    '< 0.001',
    '< 0.001',
    '0.004',
    '> 0.999',
    '1.000',
  ]);
  expect([0, 0.001, 0.5, 0.999, 1].map(percent)).toEqual([
    '0 %',
    'less than 1 %',
    '50 %',
    'more than 99 %',
    '100 %',
  ]);
  expect([0.0001, 0.001, 0.0039, 0.0976, 0.2, 1].map(timesIn)).toEqual([
    'less than once in 1,000 times',
    'once in 1,000 times',
    '4 times in 1,000',
    '98 times in 1,000',
    '20 times in 100',
    '100 times in 100',
  ]);
});
