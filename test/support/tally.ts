import { isMissing } from './missing.ts';

/** What one vitest project said of itself, as tally.reporter.ts writes it. */
export interface Tally {
  /** False while it runs: what is read then is as far as it got. */
  ended: boolean;
  /** Files that have begun and not ended. */
  running: string[];
  /** Errors outside of any test, one line each. */
  unhandled: string[];
  files: TalliedFile[];
}

export interface TalliedFile {
  /** From the root, with slashes. */
  name: string;
  failed: boolean;
  /** Of loading it and of its hooks, one line each. */
  errors: string[];
  tests: TalliedTest[];
}

export interface TalliedTest {
  name: string;
  state: 'passed' | 'failed' | 'skipped' | 'pending';
  /** What a skipped test said of why, and what a failed one found. */
  note: string | null;
}

/** Tests of each file, by file. */
export type Recorded = Record<string, number>;

export interface Verdict {
  passed: number;
  failed: number;
  /** How many tests were left out for each reason. */
  skipped: Map<string, number>;
  /** What is wrong, one line each: a log that is cut short keeps its end, and so the names of what failed. */
  complaints: string[];
  /** What is there and not yet recorded, or null. */
  grown: string | null;
}

/**
 * Reads a run the way a reader who trusts nothing would: whatever did not run, did not load or is not there any more
 * counts as failed, whether or not a test stands for it.
 *
 * @param recorded undefined where nothing is recorded yet, null when this run is what is to be recorded.
 */
export function judgeRun(
  tally: Tally | null,
  run: { code: number; overtime: boolean },
  recorded: Recorded | null | undefined,
): Verdict {
  const verdict: Verdict = { passed: 0, failed: 0, skipped: new Map(), complaints: [], grown: null };
  const complain = (line: string): void => {
    verdict.complaints.push(line);
    verdict.failed += 1;
  };
  for (const file of tally?.files ?? []) judgeFile(file, verdict, complain);
  for (const error of tally?.unhandled ?? []) complain(`outside of the tests: ${error}`);
  if (run.overtime) {
    const at = tally?.running.join(', ');
    complain(`did not end in time and was stopped${at ? `, at ${at}` : ''}`);
  } else if (!tally?.ended) complain(`ended with ${run.code} before it had told what it did`);
  else {
    if (recorded === undefined) complain('no test is recorded: npm test -- --record');
    else if (recorded) compare(tally, recorded, verdict, complain);
    if (verdict.passed === 0 && verdict.failed === 0) complain('no test passed');
  }
  if (verdict.failed === 0 && run.code !== 0)
    complain(`every test passed, and yet it ended with ${run.code}`);
  return verdict;
}

function judgeFile(file: TalliedFile, verdict: Verdict, complain: (line: string) => void): void {
  const before = verdict.failed;
  for (const error of file.errors) complain(`${file.name}: ${error}`);
  for (const { name, state, note } of file.tests) {
    if (state === 'passed') verdict.passed += 1;
    else if (state === 'failed') complain(`${file.name}: ${name}: ${note ?? 'failed'}`);
    else if (state === 'skipped' && note !== null && isMissing(note)) {
      verdict.skipped.set(note, (verdict.skipped.get(note) ?? 0) + 1);
    } else {
      const said = note === null ? 'no reason given' : note;
      const why = file.failed && note === null ? 'did not run' : `may not be skipped (${said})`;
      complain(`${file.name}: ${name}: ${why}`);
    }
  }
  if (file.failed && verdict.failed === before) complain(`${file.name}: failed without saying why`);
}

/** Files and tests may become more, not fewer. */
function compare(tally: Tally, recorded: Recorded, verdict: Verdict, complain: (line: string) => void): void {
  const found = recordOf(tally);
  for (const [name, tests] of Object.entries(recorded)) {
    const now = found[name];
    if (now === undefined) complain(`${name}: did not run; ${counted(tests)} recorded`);
    // One that did not load has been told of.
    else if (now < tests && now > 0) complain(`${name}: ${counted(now)}, ${tests} recorded`);
    else if (now === 0 && !tally.files.some((file) => file.name === name && file.failed))
      complain(`${name}: no test, ${tests} recorded`);
  }
  const more = Object.entries(found).filter(([name, tests]) => tests > (recorded[name] ?? 0));
  const tests = more.reduce((sum, [name, now]) => sum + now - (recorded[name] ?? 0), 0);
  if (tests > 0)
    verdict.grown = `${counted(tests)} in ${more.length} files not recorded yet: npm test -- --record`;
}

export function recordOf({ files }: Tally): Recorded {
  const sorted = files.toSorted((a, b) => (a.name < b.name ? -1 : 1));
  return Object.fromEntries(sorted.map(({ name, tests }) => [name, tests.length]));
}

function counted(tests: number): string {
  return tests === 1 ? '1 test' : `${tests} tests`;
}
