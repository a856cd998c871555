// npm run dev: the service, started again when its sources change, and the pages by Vite, changed under the eyes.
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildWeb, builtPages } from './boot/build-web.ts';
import { Undo } from './boot/undo.ts';

const root = fileURLToPath(new URL('..', import.meta.url));
const web = join(root, 'web');
const vite = join(
  dirname(createRequire(join(web, 'package.json')).resolve('vite/package.json')),
  'bin/vite.js',
);
const PAGES_PORT = '5173';

// The service does not start without pages; which ones is of no matter here.
if (!existsSync(builtPages)) await buildWeb((line) => console.log(line), new Undo());

const { PORT: port = '8080', HOST: host = '127.0.0.1' } = process.env;
const children = [
  spawn(process.execPath, ['--watch', '--watch-preserve-output', join(root, 'server', 'start.ts')], {
    cwd: root,
    // Links and checks of origin are of the address that is looked at.
    env: {
      ...process.env,
      BUILD_PAGES: 'never',
      HOST: host,
      PORT: port,
      PUBLIC_URL: `http://localhost:${PAGES_PORT}`,
    },
    stdio: 'inherit',
  }),
  spawn(process.execPath, [vite, 'dev', '--port', PAGES_PORT, '--strictPort', '--clearScreen', 'false'], {
    cwd: web,
    env: { ...process.env, API_ADDRESS: `http://127.0.0.1:${port}` },
    stdio: 'inherit',
  }),
];

// A terminal tells them by itself; whoever ends this process alone means both. One is of no use without the other.
const end = (): void => children.forEach((child) => child.kill('SIGTERM'));
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, end);
for (const child of children)
  child.once('exit', (code) => {
    if (code !== 0 && code !== null) process.exitCode = 1;
    end();
  });
