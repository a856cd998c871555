import type { FastifyInstance } from 'fastify';
import { addressesOf, describeAddresses } from './addresses.ts';
import { openServer } from './open-server.ts';
import { reportFailedStart } from './refuse.ts';
import { Undo } from './undo.ts';
import { type Config, readConfig } from './config.ts';
import { loggableError } from '../refusal/loggable-error.ts';

const say = (line: string): void => console.log(line);

// A terminal sends Ctrl-C to npm and to us, and npm passes it on: what comes this close is the same key.
const SAME_KEY_MS = 1_000;
// The sum of what the steps of a stop allow themselves; nothing may hang for longer.
const STOP_MS = 45_000;
const PARENT_MS = 500;

/**
 * Runs the server until a signal stops it. `prepare` is what has to happen before, such as building the pages;
 * `ready` is what is done once it runs, and its lines are printed below the addresses.
 */
export async function main(
  env: Record<string, string | undefined>,
  prepare: (config: Config, undo: Undo) => Promise<unknown>,
  ready?: (app: FastifyInstance) => Promise<string[]>,
): Promise<void> {
  const undo = new Undo();
  stopOnSignals(undo);
  if (env['npm_lifecycle_event']) stopWithParent(undo);
  let config: Config | undefined;
  try {
    config = readConfig(env);
    await prepare(config, undo);
    const { app, port, databaseLost } = await openServer(config, say, undo);
    const notes = (await ready?.(app)) ?? [];
    const token = await app.firstHostToken();
    say(describeAddresses(addressesOf(config, port), token));
    notes.forEach(say);
    void databaseLost.then(() => {
      process.stderr.write('The database ended by itself (see database.log in the data folder): stopping.\n');
      return finish(undo, 1);
    });
  } catch (error) {
    // Closed under its feet by a signal: that is no failed start.
    if (undo.started) return;
    reportFailedStart(error, config);
    await finish(undo, 1);
  }
}

function stopOnSignals(undo: Undo): void {
  const onSignal = (signal: NodeJS.Signals): void => {
    if (undo.started) {
      if (Date.now() - undo.startedAt < SAME_KEY_MS) return;
      process.stderr.write('Stopping at once; the next start recovers the database.\n');
      process.exit(130);
    }
    if (signal !== 'SIGHUP') say('Stopping ... (again to stop at once)');
    void finish(undo, 0);
  };
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, onSignal);
  const onError = (error: unknown): void => {
    console.error('Oddglass stops because of an error of its own:', loggableError(error));
    void finish(undo, 1);
  };
  process.on('uncaughtException', onError);
  process.on('unhandledRejection', onError);
}

/**
 * npm starts us through a shell, and a signal that npm passes on may end that shell alone (Debian's does not hand it
 * down). Its end is then the only sign that we are to stop.
 */
function stopWithParent(undo: Undo): void {
  const parent = process.ppid;
  setInterval(() => {
    if (process.ppid === parent || undo.started) return;
    say('Stopping ...');
    void finish(undo, 0);
  }, PARENT_MS).unref();
}

async function finish(undo: Undo, code: 0 | 1): Promise<void> {
  // Said at once: whichever way the process comes to its end, a supervisor learns that it was not asked to.
  if (code !== 0) process.exitCode = code;
  setTimeout(() => process.exit(1), STOP_MS);
  await undo.run();
  if (code === 0) say('Stopped.');
  process.exit();
}
