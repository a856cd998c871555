import { defineConfig } from 'vitest/config';
import { areaNamed } from './areas.ts';

// The tests of one area, run in a copy of the tree in which the mutants lie: packages of ours are taken from the copy, which
// the links in node_modules would lead out of.

const root = new URL('../..', import.meta.url).pathname;
// nineteen.ts asks for one file.
const { MUTANTS_AREA, MUTANTS_PROJECT, MUTANTS_TESTS } = process.env;
const { project, tests } =
  MUTANTS_TESTS === undefined
    ? areaNamed(MUTANTS_AREA)
    : { project: MUTANTS_PROJECT ?? 'unit', tests: [MUTANTS_TESTS] };

export default defineConfig({
  root,
  resolve: { alias: [{ find: /^@oddglass\/(shared|db|server)\//, replacement: `${root}$1/` }] },
  test: {
    name: project,
    include: tests,
    env: { TZ: 'UTC' },
    setupFiles: ['test/support/properties.setup.ts'],
    globalSetup: project === 'api' ? ['test/support/postgres.setup.ts'] : [],
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});
