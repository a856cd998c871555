import { type Part, runParts, STATIC_PARTS } from './support/parts.ts';

// npm test: everything, also after a failure, so that one run tells all there is to mend. Names choose some of it.
const parts: Part[] = [
  ...STATIC_PARTS,
  { name: 'build of the pages', file: 'server/boot/build-web.ts' },
  { name: 'unit tests', project: 'unit' },
  { name: 'API tests', project: 'api' },
  { name: 'browser tests', project: 'browser' },
];
const names = process.argv.slice(2);
const unknown = names.filter((name) => !parts.some((part) => part.name === name));
if (unknown.length > 0) {
  console.error(
    `No part is called ${unknown.join(', ')}. Parts: ${parts.map(({ name }) => name).join(', ')}`,
  );
  process.exitCode = 1;
} else {
  await runParts(parts.filter(({ name }) => names.length === 0 || names.includes(name)));
}
