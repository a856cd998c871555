import { parseArgs } from 'node:util';
import { BUILD, DEFAULTS, type Part, runParts, STATIC_PARTS } from './support/parts.ts';

// npm test: everything, also after a failure, so that one run tells all there is to mend. Names choose some of it;
// --record writes down which tests there are (test/expected-tests.json), after tests were added or taken away.
const parts: Part[] = [
  ...STATIC_PARTS,
  BUILD,
  { name: 'unit tests', project: 'unit' },
  { name: 'API tests', project: 'api' },
  { name: 'browser tests', project: 'browser' },
];
// Only by name: .ci/run asks for them after npm test.
const further: Part[] = [
  { name: 'further unit tests', project: 'further' },
  { name: 'walk tests', project: 'walk' },
  { name: 'long tests', project: 'long' },
];
const { positionals: names, values } = parseArgs({
  allowPositionals: true,
  options: {
    record: { type: 'boolean', default: false },
    // For the tests of this runner.
    root: { type: 'string', default: DEFAULTS.root },
    'limit-seconds': { type: 'string', default: String(DEFAULTS.limitMs / 1000) },
  },
});
const limitMs = Number(values['limit-seconds']) * 1000;
const all = [...parts, ...further];
const unknown = names.filter((name) => !all.some((part) => part.name === name));
if (unknown.length > 0 || !(limitMs > 0)) {
  console.error(
    unknown.length > 0
      ? `No part is called ${unknown.join(', ')}. Parts: ${all.map(({ name }) => name).join(', ')}`
      : '--limit-seconds takes a number above 0.',
  );
  process.exitCode = 1;
} else {
  const chosen = names.length === 0 ? parts : all.filter(({ name }) => names.includes(name));
  await runParts(chosen, { root: values.root, limitMs, record: values.record });
}
