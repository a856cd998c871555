// The last step of npm ci and npm install: node_modules/.bin/node becomes a Node that runs the house, so that every npm
// script finds it first. The machine's own where it is new enough, else the one that npm brought. Runs on the machine's
// own Node, so plain and old JavaScript; npm links the brought one by itself only from version 11 on.
import { existsSync, mkdirSync, readFileSync, rmSync, symlinkSync } from 'node:fs';
import { dirname, join, sep } from 'node:path';
import { fileURLToPath } from 'node:url';

const OLDEST = [24, 3];

const here = fileURLToPath(new URL('.', import.meta.url));
const modules = join(here, '..', '..', 'node_modules');
const { optionalDependencies } = JSON.parse(readFileSync(join(here, 'package.json'), 'utf8'));
const brought = Object.keys(optionalDependencies)
  .map((name) => join(name, 'bin', process.platform === 'win32' ? 'node.exe' : 'node'))
  .find((file) => existsSync(join(modules, file)));

// npm puts node_modules/.bin first, where the brought one may be: what npm itself runs on is the machine's own.
const own = process.env.npm_node_execpath || process.execPath;
const [major, minor] = process.versions.node.split('.').map(Number);
const isOwn = !process.execPath.startsWith(modules + sep);
const isNewEnough = isOwn && (major > OLDEST[0] || (major === OLDEST[0] && minor >= OLDEST[1]));

if (process.env.npm_config_package_lock_only === 'true') {
  // Nothing is installed, so there is nothing to link.
} else if (!isNewEnough && !brought) {
  console.error(
    `Oddglass needs Node ${OLDEST.join('.')} or newer. This is ${process.versions.node}, and npm brought none ` +
      `for ${process.platform} ${process.arch}: install Node ${OLDEST.join('.')} or newer, then npm ci again.`,
  );
  process.exitCode = 1;
} else if (process.platform !== 'win32') {
  const link = join(modules, '.bin', 'node');
  mkdirSync(join(modules, '.bin'), { recursive: true });
  rmSync(link, { force: true });
  symlinkSync(isNewEnough ? own : join('..', brought), link);
  // A third of the brought one is headers, for compiling what nothing here compiles.
  if (brought) rmSync(join(modules, dirname(brought), '..', 'include'), { recursive: true, force: true });
}
