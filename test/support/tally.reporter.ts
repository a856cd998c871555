import { writeFileSync } from 'node:fs';
import type { SerializedError } from 'vitest';
import type { Reporter, TestCase, TestModule } from 'vitest/node';
import { setupError } from './setup-error.ts';
import type { TalliedFile, TalliedTest, Tally } from './tally.ts';

/**
 * Writes what a run did to the file that TEST_TALLY names. vitest's own JSON leaves out why a test was skipped and
 * what went wrong outside of tests, and is not there at all when a run hangs.
 */
export default class TallyReporter implements Reporter {
  readonly #path = process.env['TEST_TALLY'];
  readonly #running = new Set<string>();

  onTestModuleQueued(module: TestModule): void {
    this.#running.add(nameOf(module));
    this.#write({ ended: false, running: [...this.#running], unhandled: [], files: [] });
  }

  onTestModuleEnd(module: TestModule): void {
    this.#running.delete(nameOf(module));
    this.#write({ ended: false, running: [...this.#running], unhandled: [], files: [] });
  }

  onTestRunEnd(modules: readonly TestModule[], unhandled: readonly SerializedError[]): void {
    const setup = setupError();
    this.#write({
      ended: true,
      running: [],
      unhandled: [...(setup === undefined ? [] : [setup]), ...unhandled.map(lineOf)],
      files: modules.map(tallyFile),
    });
  }

  #write(tally: Tally): void {
    if (this.#path) writeFileSync(this.#path, JSON.stringify(tally));
  }
}

function tallyFile(module: TestModule): TalliedFile {
  const suites = [...module.children.allSuites()];
  return {
    name: nameOf(module),
    // One whose worker died is still queued or pending.
    failed: !['passed', 'skipped'].includes(module.state()),
    errors: [...module.errors(), ...suites.flatMap((suite) => suite.errors())].map(lineOf),
    tests: [...module.children.allTests()].map(tallyTest),
  };
}

function tallyTest(test: TestCase): TalliedTest {
  const result = test.result();
  const error = result.errors?.[0];
  const note = result.state === 'skipped' ? (result.note ?? null) : error ? lineOf(error) : null;
  return { name: test.fullName, state: result.state, note };
}

function nameOf(module: TestModule): string {
  return module.relativeModuleId;
}

function lineOf({ name, message }: SerializedError): string {
  return `${name ? `${name}: ` : ''}${message.split('\n')[0]}`;
}
