import { basename } from 'node:path';
import { defineConfig, type Plugin } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { areaNamed } from './areas.ts';
import { keptWorkers } from './kept-worker.ts';

// The tests of one area, run in a copy of the tree in which the mutants lie: packages of ours are taken from the copy, which
// the links in node_modules would lead out of.

const root = new URL('../..', import.meta.url).pathname;
// nineteen.ts asks for its own files.
const { MUTANTS_AREA, MUTANTS_PROJECT, MUTANTS_TESTS, MUTANTS_KEEP } = process.env;
const { project, tests } =
  MUTANTS_TESTS === undefined
    ? areaNamed(MUTANTS_AREA)
    : { project: MUTANTS_PROJECT ?? 'unit', tests: MUTANTS_TESTS.split(',') };

/** Files in the order in which the area names them: the first that fails is enough. */
class AsNamed extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const named = tests.join();
    const placeOf = ({ moduleId }: TestSpecification): number =>
      named.indexOf(basename(moduleId, '.test.ts'));
    return files.toSorted((a, b) => placeOf(a) - placeOf(b));
  }
}

const keepWorkers: Plugin = {
  name: 'kept-workers',
  configureVitest({ project: own }) {
    Object.assign(own.config, { pool: keptWorkers.name, poolRunner: keptWorkers });
  },
};

export default defineConfig({
  root,
  plugins: MUTANTS_KEEP === '1' ? [keepWorkers] : [],
  resolve: { alias: [{ find: /^@oddglass\/(shared|db|server)\//, replacement: `${root}$1/` }] },
  test: {
    name: project,
    isolate: MUTANTS_KEEP !== '1',
    include: tests,
    sequence: { sequencer: AsNamed },
    env: { TZ: 'UTC' },
    setupFiles: ['test/support/properties.setup.ts'],
    globalSetup: project === 'api' ? ['test/support/postgres.setup.ts'] : [],
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
});
