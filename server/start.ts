// What `npm start` runs. Kept free of imports until the version is known to be one that can read them.
// As server/brought-node/link.js has it: TypeScript runs as it is, without a warning that this is experimental.
const OLDEST_NODE = '24.3';

const parent = process.ppid;
const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
if (major < 24 || (major === 24 && minor < 3)) {
  process.stderr.write(
    `Oddglass runs on Node ${OLDEST_NODE}, this is ${process.versions.node}: use npm start, which brings its own (after npm ci).\n`,
  );
  process.exit(1);
}
const [{ main }, { buildWeb }] = await Promise.all([import('./boot/main.ts'), import('./boot/build-web.ts')]);
// npm was ended while this was being read, before main could notice.
if (process.env['npm_lifecycle_event'] && process.ppid !== parent) process.exit(0);
await main(process.env, async (config, undo) => {
  if (config.buildPages === 'when-changed') await buildWeb((line) => console.log(line), undo);
});

export {};
