import fp from 'fastify-plugin';
import { hasZodFastifySchemaValidationErrors, isResponseSerializationError } from 'fastify-type-provider-zod';
import type { FastifyError } from 'fastify';
import { problem, Problem } from '../refusal/problem.ts';
import { OutageLog } from './outage-log.ts';

// Connection failures and shutdown states of PostgreSQL (class 08, 57P01..57P05, 53300, a full disk) and of the socket below it.
const AWAY = /^(08\w{3}|57P0[1-5]|25P03|53[13]00|ECONNREFUSED|ECONNRESET|EPIPE|ETIMEDOUT)$/;
const AWAY_WORDS =
  /Connection terminated|timeout exceeded when trying to connect|timeout expired|Query read timeout|Client has encountered a connection error|Client was closed and is not queryable/;
// A row that stays locked (55P03), a statement that took too long (57014).
const BUSY = /^(55P03|57014)$/;

/** What a failed statement or connection means to the caller; null for anything else. */
function fromDatabase(error: unknown): 'database-away' | 'busy' | null {
  for (
    let cause: unknown = error, depth = 0;
    cause instanceof Error && depth < 5;
    cause = cause.cause, depth++
  ) {
    const code = 'code' in cause && typeof cause.code === 'string' ? cause.code : '';
    if (AWAY.test(code) || AWAY_WORDS.test(cause.message)) return 'database-away';
    if (BUSY.test(code)) return 'busy';
  }
  return null;
}

function asProblem(error: FastifyError | Error): Problem {
  if (error instanceof Problem) return error;
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.map((issue) => ({
      pointer: `#${issue.instancePath}`,
      detail: issue.message ?? 'This needs another look.',
    }));
    return problem('invalid-input', {
      detail: errors[0]?.detail ?? 'Some fields need another look.',
      errors,
    });
  }
  const status = 'statusCode' in error ? error.statusCode : undefined;
  if (status === 413) return problem('too-large');
  if (status === 415) return problem('wrong-media-type');
  if (status === 404) return problem('not-found');
  if (status !== undefined && status >= 400 && status < 500 && !isResponseSerializationError(error)) {
    return problem('invalid-input', { detail: 'The request could not be read as JSON.' });
  }
  return problem(fromDatabase(error) ?? 'internal');
}

const RETRY_AFTER_SECONDS = 2;

/** One place where errors become answers (RFC 9457): no message of ours or the database's leaks into a 500. */
export const problemPlugin = fp<{ clock: () => Date }>(
  async (app, { clock }) => {
    const outages = new OutageLog({
      log: app.log,
      clock,
      message: 'the database is away: requests are refused until it is back',
    });
    let closing = false;
    app.addHook('preClose', async () => {
      closing = true;
    });
    // What is on its way is answered; what comes after is sent elsewhere, or again later.
    app.addHook('onRequest', async (_request, reply) => {
      if (!closing) return;
      reply.header('connection', 'close');
      throw problem('stopping');
    });
    app.setErrorHandler((error: FastifyError | Error, request, reply) => {
      const answer = asProblem(error);
      if (answer.kind === 'database-away') outages.failed(error);
      else if (answer.status >= 500 && answer.kind !== 'stopping')
        request.log.error({ err: error }, 'request failed');
      const { retryAfterSeconds = answer.status === 503 ? RETRY_AFTER_SECONDS : undefined } =
        answer.circumstances;
      if (retryAfterSeconds !== undefined) reply.header('retry-after', String(retryAfterSeconds));
      return reply
        .code(answer.status)
        .header('content-type', 'application/problem+json; charset=utf-8')
        .header('cache-control', 'no-store')
        .serializer(JSON.stringify)
        .send(answer.toDocument(request.id));
    });
  },
  { name: 'problem' },
);
