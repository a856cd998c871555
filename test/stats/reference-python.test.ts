import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { missing } from '../support/missing.ts';

// The computed cases of reference-values.json beside what SciPy and statsmodels make of them now, where they are on the machine.
const script = new URL('../reference/regenerate.py', import.meta.url).pathname;
const reference = new URL('../reference/reference-values.json', import.meta.url);
const LIMIT = 150_000;

/** The first Python with these libraries; null where there is none. */
function pythonWith(libraries: string): string | null {
  const candidates = [process.env['PYTHON'] ?? 'python3', 'python3', '/usr/bin/python3'];
  const has = (python: string) =>
    spawnSync(python, ['-c', `import ${libraries}`], { timeout: 30_000 }).status === 0;
  return candidates.find(has) ?? null;
}
const python = pythonWith('scipy.stats, statsmodels.api') ?? pythonWith('scipy.stats');

interface Run {
  code: number | null;
  out: string;
  lines: string[];
}

async function regenerate(file: string[] = []): Promise<Run> {
  const child = spawn(python ?? 'python3', [script, ...file], { timeout: LIMIT - 10_000 });
  const out: string[] = [];
  for (const stream of [child.stdout, child.stderr]) {
    stream.setEncoding('utf8').on('data', (part: string) => out.push(part));
  }
  const code = await new Promise<number | null>((resolve, reject) => {
    child.on('error', reject);
    child.on('close', resolve);
  });
  return { code, out: out.join(''), lines: out.join('').trim().split('\n') };
}

describe('reference values computed again with SciPy and statsmodels', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'reference-'));
  });
  afterAll(() => {
    rmSync(folder, { recursive: true, force: true });
  });

  it('are within the tolerance of their cases', { timeout: LIMIT }, async ({ skip }) => {
    skip(python === null, missing('Python with SciPy'));
    const { code, out, lines } = await regenerate();
    console.log([lines[0], ...lines.slice(-3)].join('\n'));
    expect(out).not.toContain('BEYOND');
    expect(lines.at(-1)).toBe('90 of 92 cases computed, 0 beyond tolerance');
    expect(code).toBe(0);
  });

  it('are refused when one is off by more', { timeout: LIMIT }, async ({ skip }) => {
    skip(python === null, missing('Python with SciPy'));
    const cases = JSON.parse(readFileSync(reference, 'utf8')) as { id: string }[];
    const kept = cases.filter(({ id }) => ['mcnemar-exact', 'pvalue-one-sided'].includes(id));
    const right = '0.066447639531';
    const text = JSON.stringify(kept);
    expect(text.split(right)).toHaveLength(2);
    const file = join(folder, 'wrong.json');
    writeFileSync(file, text.replace(right, '0.066447639541'));
    const { code, lines } = await regenerate([file]);
    expect(
      lines.filter((line) => line.endsWith('BEYOND TOLERANCE')).map((line) => line.split(' ')[0]),
    ).toEqual(['pvalue-one-sided', 'pvalue-one-sided']);
    expect(lines.at(-1)).toBe('2 of 2 cases computed, 2 beyond tolerance');
    expect(code).toBe(1);
  });
});
