import { databaseIsAway } from '@oddglass/db/pool.ts';
import fp from 'fastify-plugin';
import { hasZodFastifySchemaValidationErrors, isResponseSerializationError } from 'fastify-type-provider-zod';
import type { FastifyError } from 'fastify';
import type { SecurityEvent, SecurityLog } from '../guard/security-log.ts';
import type { Outage } from '../refusal/outage.ts';
import type { ProblemName } from '@oddglass/shared/contracts/problem.ts';
import { problem, Problem } from '../refusal/problem.ts';

const RETRY_AFTER_SECONDS = '2';
// Refusals that whoever runs the server should hear of.
const NOTED: Partial<Record<ProblemName, SecurityEvent>> = {
  'not-allowed': 'role-refused',
  'key-closed': 'role-refused',
  'foreign-origin': 'foreign-request',
  'wrong-host': 'foreign-request',
  'too-many-attempts': 'too-many-attempts',
  'too-many-sockets': 'too-many-attempts',
};

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
export const problemPlugin = fp<{ outage: Outage; security: SecurityLog }>(
  async (app, { outage, security }) => {
    // The port is closed, but connections that were open already may ask once more.
    let closing = false;
    app.addHook('preClose', async () => {
      closing = true;
    });
    app.addHook('onRequest', async () => {
      if (closing) throw problem('closing');
    });
    app.setErrorHandler((error: FastifyError | Error, request, reply) => {
      const answer = asProblem(error);
      if (answer.kind === 'database-away') outage.note(error);
      else if (answer.status === 500) request.log.error({ err: error }, 'request failed');
      const noted = NOTED[answer.kind];
      // The pattern of the route: an address may hold what opens something.
      if (noted)
        security.note(noted, {
          refusal: answer.kind,
          account: request.actorOrNull?.name ?? null,
          route: `${request.method} ${request.routeOptions.url ?? ''}`,
          address: request.ip,
        });
      const { retryAfterSeconds } = answer.circumstances;
      if (retryAfterSeconds !== undefined) reply.header('retry-after', String(retryAfterSeconds));
      else if (answer.status === 503) reply.header('retry-after', RETRY_AFTER_SECONDS);
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
