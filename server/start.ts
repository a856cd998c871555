// What `npm start` runs. Kept free of imports until the version is known to be one that can read them.
const OLDEST_NODE = 24;

const parent = process.ppid;
const major = Number(process.versions.node.split('.')[0]);
if (major < OLDEST_NODE) {
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
