// What `npm run demo` runs: the service as `npm start` has it, and an invented trial to look at.
import { buildWeb } from './boot/build-web.ts';
import { main } from './boot/main.ts';

await main(
  process.env,
  async (config, undo) => {
    if (config.buildPages === 'when-changed') await buildWeb((line) => console.log(line), undo);
  },
  async (app) => {
    const { name, passphrase } = await app.fillDemo();
    return [
      '',
      'A demo panel is filled in; everything in it is invented. To look at it, sign in at /bench as',
      `  name        ${name}`,
      `  passphrase  ${passphrase}`,
      'Shown only once.',
    ];
  },
);
