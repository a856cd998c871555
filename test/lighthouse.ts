import { spawnSync } from 'node:child_process';

// npm run lighthouse: a publication as a phone gets it, speed included. Build the pages first (npm run build).
const { status } = spawnSync(
  process.execPath,
  [
    'node_modules/vitest/vitest.mjs',
    'run',
    '--config',
    'test/vitest.config.ts',
    '--project',
    'long',
    'test/flow/lighthouse.test.ts',
  ],
  { stdio: 'inherit', env: { ...process.env, LIGHTHOUSE: 'full' } },
);
process.exitCode = status ?? 1;
