import { DatabaseNewerError } from '@oddglass/db/migrate.ts';
import type { Config } from './config.ts';
import { loggableError } from '../refusal/loggable-error.ts';
import { StartRefusal } from './start-refusal.ts';

const UNREACHABLE: Record<string, string> = {
  ECONNREFUSED: 'nothing answers there',
  ECONNRESET: 'the connection was cut',
  ENOTFOUND: 'there is no such host',
  EAI_AGAIN: 'the host name could not be looked up',
  EHOSTUNREACH: 'the host cannot be reached',
  ENETUNREACH: 'the host cannot be reached',
  ETIMEDOUT: 'it does not answer in time',
};

// https://www.postgresql.org/docs/current/errcodes-appendix.html
const REFUSED: Record<string, string> = {
  '28P01': 'user name or password is wrong',
  '28000': 'it does not let this user in',
  '3D000': 'there is no such database',
  '42501': 'the user may not create tables in it',
  '53300': 'it has no free connection',
  '57P03': 'it is starting up or shutting down',
};

/** One line for an error that people cause or can mend; null for one that is ours to mend. */
export function refusalLine(error: unknown, config: Config | undefined): string | null {
  if (error instanceof StartRefusal) return error.message;
  if (error instanceof DatabaseNewerError)
    return 'This database was used by a newer version of Oddglass: start that version, or restore an older copy.';
  const reason = databaseReason(error);
  return reason && config?.databaseUrl
    ? `Cannot use the database ${withoutSecrets(config.databaseUrl)} (DATABASE_URL): ${reason}.`
    : null;
}

/** One line for a port that cannot be had; other errors are returned as they came. */
export function listenRefusal(error: unknown, { host, port }: Config): unknown {
  switch (codeOf(error)) {
    case 'EADDRINUSE':
      return new StartRefusal(`Port ${port} is in use by another program: set PORT to a free one.`);
    case 'EACCES':
      return new StartRefusal(`Port ${port} may not be used by this user: set PORT to one above 1023.`);
    case 'EADDRNOTAVAIL':
    case 'ENOTFOUND':
      return new StartRefusal(`${host} is not an address of this machine: set HOST to one that is.`);
    default:
      return error;
  }
}

/** Prints why the start failed: one line when it is known, everything when it is not. */
export function reportFailedStart(error: unknown, config: Config | undefined): void {
  const line = refusalLine(error, config);
  if (line !== null) process.stderr.write(`${line}\n`);
  else console.error('Oddglass could not start because of an error of its own:', loggableError(error));
}

function databaseReason(error: unknown): string | null {
  const code = codeOf(error);
  const known = UNREACHABLE[code] ?? REFUSED[code];
  if (known) return known;
  const message = error instanceof Error ? error.message : '';
  // pg reports these without a code.
  if (/timeout expired|timeout exceeded/i.test(message)) return 'it does not answer in time';
  if (/does not support SSL/i.test(message)) return 'it does not speak TLS';
  if (/certificate/i.test(message)) return 'its certificate cannot be checked';
  if (/password must be a string/i.test(message)) return 'it wants a password';
  return null;
}

function codeOf(error: unknown): string {
  if (typeof error !== 'object' || error === null) return '';
  if ('code' in error && typeof error.code === 'string') return error.code;
  // A name with several addresses fails with one error for each; a query builder wraps what the database said.
  if (error instanceof AggregateError) return codeOf(error.errors[0]);
  return error instanceof Error ? codeOf(error.cause) : '';
}

/** The address without user's password and without parameters, which may hold one too. */
export function withoutSecrets(databaseUrl: string): string {
  const url = new URL(databaseUrl);
  return `${url.hostname}:${url.port || '5432'}${url.pathname}`;
}
