import { expect, test } from 'vitest';
import { KINDS } from '../support/wild-session.ts';
import { tryOne } from '../support/search-run.ts';

// A short run of `npm run search`: 20,000 sessions by hand, a few hundred here.
const SESSIONS = 300;
const SEED = Number(process.env['PROPERTY_SEED'] ?? 0);

test('no random or nasty session withholds its result, its tables, its publication or its verification', () => {
  const outcomes = Array.from({ length: SESSIONS }, (_, at) => tryOne(SEED * SESSIONS + at, null));
  expect(outcomes.flatMap(({ seed, faults }) => faults.map((fault) => `seed ${seed}: ${fault}`))).toEqual([]);
  const seen = new Set(outcomes.flatMap(({ kinds }) => kinds));
  expect([...seen].sort()).toEqual([...KINDS].sort());
  expect(outcomes.filter(({ refused }) => !refused).length).toBeGreaterThan(SESSIONS * 0.9);
}, 300_000);
