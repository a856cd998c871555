import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';
import { LongestFirst } from './support/longest-first.ts';

const here = (file: string): string => new URL(file, import.meta.url).pathname;

// What kills, cuts off, waits or measures, which .ci/run does after npm test.
const LONG = 'test/{flow/{faults,outage,lighthouse},boot/exit}.test.ts';

// Walks over one matter each, beside the evening, the first evening and the publication that npm test walks.
const WALKS =
  'test/flow/{parts,parts-flights,planner,spikes,safety,members,late-question,hand-over,printed,sign-out,passkey,story,trial-record,published-data,published-folder,pulls,replicate,solo,paper,sites,whole-trial,large-result}.test.ts';

// What starts vitest many times, compares with R, lists every order or plays hundreds of panels.
const FURTHER =
  'test/{runner/{runner,ci,commands},analysis/{sentences,search},design/choice-orders,stats/live-r,analysis/story/next-marks,publication/{corruptions,withheld}}.test.ts';

// The service is loaded once for all files of a worker, and is warm for all but the first: that saves a third of the time.
// Each file has a server and a database of its own, and what it changes in its process it puts back.
const SHARED = { isolate: false };

// Six projects: pure code; what of it is long by nature; the API against a real PostgreSQL; whole evenings in a real browser;
// further walks in it; and what wants the machine to itself.
export default defineConfig({
  root: here('..'),
  test: {
    // vitest leaves a core free for a watcher; with two that is half the machine.
    maxWorkers: '100%',
    sequence: { sequencer: LongestFirst },
    // What is waited for comes when it comes: how soon is said where it matters, and a busy machine is not a failure.
    expect: { poll: { timeout: 20_000 } },
    projects: [
      {
        extends: true,
        test: {
          name: 'unit',
          setupFiles: [here('support/properties.setup.ts')],
          include: [
            'test/{stats,kinds,design,rules,contracts,analysis,vocabulary,publication,web,structure,runner,ground,planner,export,fermentation,notebook,paper}/**/*.test.ts',
          ],
          exclude: [FURTHER],
          env: { TZ: 'UTC' },
          testTimeout: 60_000,
        },
      },
      {
        extends: true,
        test: {
          name: 'further',
          setupFiles: [here('support/properties.setup.ts')],
          include: [FURTHER],
          env: { TZ: 'UTC' },
          testTimeout: 60_000,
        },
      },
      {
        extends: true,
        test: {
          name: 'api',
          setupFiles: [here('support/properties.setup.ts')],
          include: ['test/{db,server}/**/*.test.ts'],
          globalSetup: [here('support/postgres.setup.ts')],
          env: { TZ: 'UTC' },
          testTimeout: 120_000,
          hookTimeout: 120_000,
          ...SHARED,
          // A file waits for its database and for the thread that works results out as often as it works itself.
          maxWorkers: Math.ceil(1.5 * availableParallelism()),
          // Projects with other numbers of workers do not run at once, where somebody runs them together.
          sequence: { groupOrder: 1 },
        },
      },
      {
        extends: true,
        test: {
          name: 'browser',
          include: ['test/{flow,boot}/**/*.test.ts'],
          exclude: [LONG, WALKS],
          globalSetup: [here('support/browser.setup.ts'), here('support/postgres.setup.ts')],
          env: { TZ: 'UTC' },
          testTimeout: 300_000,
          hookTimeout: 300_000,
          ...SHARED,
        },
      },
      {
        extends: true,
        test: {
          name: 'walk',
          include: [WALKS],
          globalSetup: [here('support/browser.setup.ts'), here('support/postgres.setup.ts')],
          env: { TZ: 'UTC' },
          testTimeout: 300_000,
          hookTimeout: 300_000,
          ...SHARED,
        },
      },
      {
        extends: true,
        test: {
          name: 'long',
          include: [LONG],
          globalSetup: [here('support/browser.setup.ts'), here('support/postgres.setup.ts')],
          env: { TZ: 'UTC' },
          // Each of these wants the machine to itself.
          fileParallelism: false,
          testTimeout: 300_000,
          hookTimeout: 300_000,
        },
      },
    ],
  },
});
