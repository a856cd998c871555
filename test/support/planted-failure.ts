import { within } from '@oddglass/server/boot/embedded-database.ts';
import { main } from '@oddglass/server/boot/main.ts';

// The server as it starts, but for an error that nobody catches, or a stop that hangs with nothing open, or both.
const planted = process.env['PLANTED'] ?? '';

await main(
  process.env,
  async (_config, undo) => {
    // Taken back last, when no socket and no file is open any more: nothing but the wait itself is left.
    if (planted.includes('hanging-stop')) undo.add(() => within(new Promise(() => undefined), 1_500));
  },
  async () => {
    if (planted.includes('error')) setTimeout(() => JSON.parse('not what was expected'), 500);
    return [];
  },
);
