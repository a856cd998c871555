import { readFileSync } from 'node:fs';
import { cp, mkdir, readdir, readFile, stat } from 'node:fs/promises';
import { basename, join, matchesGlob, posix, relative } from 'node:path';
import { installFrom, type Locked, productionPackages } from './image-lock.ts';

/** One instruction of a Dockerfile: its word and what follows, lines joined. */
interface Step {
  word: string;
  rest: string;
}

interface Stage {
  name: string;
  from: string;
  steps: Step[];
}

/** What a container of the image starts with. `root` stands for its `/`. */
export interface Image {
  root: string;
  workdir: string;
  env: Record<string, string>;
  command: string[];
  base: string;
  exposed: string[];
  volumes: string[];
  user: string;
}

const STEPS = ['COPY', 'RUN', 'ENV', 'WORKDIR', 'USER', 'VOLUME', 'EXPOSE', 'STOPSIGNAL', 'CMD'];

export function readDockerfile(text: string): Stage[] {
  const lines = text
    .replace(/^\s*#.*\n/gm, '')
    .replace(/\\\n/g, ' ')
    .split('\n');
  const stages: Stage[] = [];
  for (const line of lines.map((one) => one.trim()).filter(Boolean)) {
    const [, word = '', rest = ''] = /^([A-Z]+)\s+(.*)$/.exec(line) ?? [];
    if (word === 'FROM') {
      const [, from = '', name = ''] = /^(\S+)(?:\s+AS\s+(\S+))?$/.exec(rest) ?? [];
      stages.push({ name, from, steps: [] });
    } else if (STEPS.includes(word) && stages.length > 0) stages.at(-1)?.steps.push({ word, rest });
    else throw new RangeError(`not an instruction that is known here: ${line}`);
  }
  return stages;
}

/** Is this path of the context kept from the build? As .dockerignore has it: a folder takes what it holds along. */
export function ignoring(text: string): (path: string) => boolean {
  const patterns = text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line && !line.startsWith('#'));
  if (patterns.some((pattern) => pattern.startsWith('!'))) throw new RangeError('! is not known here');
  return (path) => {
    const parts = path.split('/');
    return parts.some((_, at) => {
      const above = parts.slice(0, at + 1).join('/');
      return patterns.some((pattern) => matchesGlob(above, pattern.replace(/\/$/, '')));
    });
  };
}

/** How a RUN is done here; null where it is not known. */
export type Runner = (
  command: string,
  at: { root: string; workdir: string; env: Record<string, string> },
) => Promise<void>;

/**
 * Follows a Dockerfile as far as folders go: each stage is a folder below `target`, COPY copies what .dockerignore lets
 * through, RUN is handed to `run`. Users and modes are kept as words only.
 */
export async function buildImage(
  context: string,
  dockerfile: string,
  target: string,
  run: Runner,
): Promise<Image> {
  const ignored = ignoring(await readFile(join(context, '.dockerignore'), 'utf8'));
  const images = new Map<string, Image>();
  let last: Image | undefined;
  for (const [index, { name, from, steps }] of readDockerfile(dockerfile).entries()) {
    const root = join(target, `${index}-${name || 'image'}`);
    const before = images.get(from);
    await mkdir(root, { recursive: true });
    if (before) await cp(before.root, root, { recursive: true, verbatimSymlinks: true });
    const image: Image = before
      ? { ...structuredClone(before), root }
      : { root, workdir: '/', env: {}, command: [], base: from, exposed: [], volumes: [], user: 'root' };
    for (const step of steps) await take(step, image, { context, ignored, images, run });
    images.set(name, image);
    last = image;
  }
  if (!last) throw new RangeError('no stage');
  return last;
}

interface Surroundings {
  context: string;
  ignored: (path: string) => boolean;
  images: Map<string, Image>;
  run: Runner;
}

async function take({ word, rest }: Step, image: Image, around: Surroundings): Promise<void> {
  const { root, workdir, env } = image;
  if (word === 'WORKDIR') {
    image.workdir = posix.resolve(workdir, rest);
    await mkdir(join(root, image.workdir), { recursive: true });
  } else if (word === 'ENV') {
    for (const [, name = '', value = ''] of rest.matchAll(/(\w+)=(\S+)/g)) image.env[name] = value;
  } else if (word === 'COPY') await copy(rest, image, around);
  else if (word === 'RUN') {
    for (const command of rest.split('&&')) await around.run(command.trim(), { root, workdir, env });
  } else if (word === 'USER') image.user = rest;
  else if (word === 'VOLUME') image.volumes.push(rest);
  else if (word === 'EXPOSE') image.exposed.push(rest);
  else if (word === 'CMD') image.command = JSON.parse(rest) as string[];
}

async function copy(rest: string, image: Image, { context, ignored, images }: Surroundings): Promise<void> {
  const words = rest.split(/\s+/);
  const from = words[0]?.startsWith('--from=') ? words.shift()?.slice('--from='.length) : undefined;
  const stage = from === undefined ? undefined : images.get(from);
  if (from !== undefined && !stage) throw new RangeError(`COPY from ${from}, which is no stage`);
  const to = words.pop() ?? '';
  const target = join(image.root, posix.resolve(image.workdir, to));
  for (const word of words) {
    const source = join(stage ? stage.root : context, word);
    const path = relative(context, source);
    if (!stage && ignored(path)) throw new Error(`${word} is kept from the build by .dockerignore`);
    const isFolder = (await stat(source)).isDirectory();
    const place = isFolder || !/(^\.|\/)$/.test(to) ? target : join(target, basename(word));
    await cp(source, place, {
      recursive: true,
      verbatimSymlinks: true,
      filter: (one) => stage !== undefined || one === source || !ignored(relative(context, one)),
    });
  }
}

/** `npm ci --omit=dev --workspace ...` without a registry: the same packages, out of this checkout's own installation. */
export async function installPackages(command: string, checkout: string, folder: string): Promise<boolean> {
  if (!/^npm ci --omit=dev( --workspace \w+)+$/.test(command)) return false;
  const lock = JSON.parse(readFileSync(join(folder, 'package-lock.json'), 'utf8')) as { packages: Locked };
  const workspaces = [...command.matchAll(/--workspace (\w+)/g)].map(([, name = '']) => name);
  await installFrom(checkout, folder, productionPackages(lock.packages, workspaces));
  return true;
}

/** Every file below a folder, from it. */
export async function filesBelow(folder: string): Promise<string[]> {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true });
  return entries
    .filter((entry) => !entry.isDirectory())
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)))
    .sort();
}
