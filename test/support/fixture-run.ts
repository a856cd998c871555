import { spawn } from 'node:child_process';
import { chmod, mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));

export interface RunResult {
  code: number | null;
  out: string;
  /** The runner's own lines, below what vitest printed. */
  summary: string;
}

/** A small project of tests in a folder of its own, run by the real runner with the real configuration. */
export class FixtureProject {
  readonly folder: string;

  private constructor(folder: string) {
    this.folder = folder;
  }

  static async of(files: Record<string, string>): Promise<FixtureProject> {
    const folder = await mkdtemp(join(tmpdir(), 'oddglass-runner-'));
    // What a run keeps in the temporary folder, its database among it, is to be found here.
    await mkdir(join(folder, 'tmp'));
    // As root the database runs as a user of its own, who has to get through.
    await chmod(folder, 0o755);
    await symlink(join(root, 'node_modules'), join(folder, 'node_modules'));
    const project = new FixtureProject(folder);
    for (const [name, text] of Object.entries(files)) await project.write(name, text);
    return project;
  }

  async write(name: string, text: string): Promise<void> {
    await mkdir(dirname(join(this.folder, name)), { recursive: true });
    await writeFile(join(this.folder, name), text);
  }

  /** `node test/run.ts` over this project. */
  run(args: readonly string[], env: Record<string, string> = {}): Promise<RunResult> {
    return runAndRead('test/run.ts', ['--root', this.folder, ...args], {
      TMPDIR: join(this.folder, 'tmp'),
      ...env,
    });
  }

  /** vitest by itself, as DEVELOPERS.md says for one file. */
  runFile(project: string, file: string): Promise<RunResult> {
    const args = ['run', '--root', this.folder, '--config', join(root, 'test/vitest.config.ts')];
    return runAndRead('node_modules/vitest/vitest.mjs', [...args, '--project', project, file], {});
  }

  remove(): Promise<void> {
    return rm(this.folder, { recursive: true, force: true, maxRetries: 5 });
  }
}

/** A script of ours to its end, outside of the test run that asks for it. */
export async function runAndRead(
  script: string,
  args: readonly string[],
  env: Record<string, string>,
): Promise<RunResult> {
  const own = Object.entries(process.env).filter(([name]) => !/^(VITEST|TEST|NODE_ENV)/.test(name));
  const child = spawn(process.execPath, [script, ...args], {
    cwd: root,
    env: { ...Object.fromEntries(own), NO_COLOR: '1', ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let out = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream.setEncoding('utf8').on('data', (text: string) => (out += text));
  }
  const code = await new Promise<number | null>((resolve) => {
    child.once('error', () => resolve(null));
    child.once('close', resolve);
  });
  return { code, out, summary: out.slice(Math.max(0, out.indexOf('=== summary'))) };
}
