import fp from 'fastify-plugin';
import { hasZodFastifySchemaValidationErrors, isResponseSerializationError } from 'fastify-type-provider-zod';
import type { FastifyError } from 'fastify';
import { problem, Problem } from '../problem.ts';

// Connection failures and shutdown states of PostgreSQL (class 08, 57P01..57P03, 53300) and of the socket below it.
const AWAY = /^(08\w{3}|57P0[1-3]|53300|ECONNREFUSED|ECONNRESET|EPIPE|ETIMEDOUT)$/;
const AWAY_WORDS =
  /Connection terminated|timeout exceeded when trying to connect|Client has encountered a connection error/;

function databaseIsAway(error: unknown): boolean {
  for (
    let cause: unknown = error, depth = 0;
    cause instanceof Error && depth < 5;
    cause = cause.cause, depth++
  ) {
    const code = 'code' in cause && typeof cause.code === 'string' ? cause.code : '';
    if (AWAY.test(code) || AWAY_WORDS.test(cause.message)) return true;
  }
  return false;
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
  return problem(databaseIsAway(error) ? 'database-away' : 'internal');
}

/** One place where errors become answers (RFC 9457): no message of ours or the database's leaks into a 500. */
export const problemPlugin = fp(
  async (app) => {
    app.setErrorHandler((error: FastifyError | Error, request, reply) => {
      const answer = asProblem(error);
      if (answer.status >= 500) request.log.error({ err: error }, 'request failed');
      const { retryAfterSeconds } = answer.circumstances;
      if (retryAfterSeconds !== undefined) reply.header('retry-after', String(retryAfterSeconds));
      if (answer.kind === 'database-away') reply.header('retry-after', '2');
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
