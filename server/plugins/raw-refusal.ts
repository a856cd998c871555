import { randomUUID } from 'node:crypto';
import { STATUS_CODES, type ServerResponse } from 'node:http';
import type { Socket } from 'node:net';
import { problem, type Problem } from '../refusal/problem.ts';

// Refusals from below the routes, where no hook of ours runs: what was sent is no request, or never became one.
const HEADERS: Readonly<Record<string, string>> = {
  'content-type': 'application/problem+json; charset=utf-8',
  'cache-control': 'no-store',
  'content-security-policy': "default-src 'none'; frame-ancestors 'none'",
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'same-origin',
};

/** An address that cannot be decoded. */
export function refuseAddress(response: ServerResponse, requestId: string): void {
  const refusal = problem('invalid-input', { detail: 'The address could not be read.' });
  response.writeHead(refusal.status, HEADERS);
  response.end(JSON.stringify(refusal.toDocument(requestId)));
}

/** Bytes that are no request, headers beyond measure, and requests that never end. */
export function refuseConnection(error: NodeJS.ErrnoException, socket: Socket): void {
  if (error.code === 'ECONNRESET' || socket.destroyed) return;
  // An answer that is under way would be garbled.
  const under = (socket as { _httpMessage?: { headersSent?: boolean } })._httpMessage;
  if (socket.writable && under?.headersSent !== true) {
    const refusal = refusalOf(error.code);
    const body = JSON.stringify(refusal.toDocument(randomUUID()));
    const lines = Object.entries({ ...HEADERS, 'content-length': String(Buffer.byteLength(body)) });
    socket.write(
      [
        `HTTP/1.1 ${refusal.status} ${STATUS_CODES[refusal.status]}`,
        'connection: close',
        ...lines.map(([name, value]) => `${name}: ${value}`),
        '',
        body,
      ].join('\r\n'),
    );
  }
  socket.destroySoon();
}

function refusalOf(code: string | undefined): Problem {
  if (code === 'HPE_HEADER_OVERFLOW') return problem('header-too-large');
  if (code === 'ERR_HTTP_REQUEST_TIMEOUT') return problem('too-slow');
  return problem('invalid-input', { detail: 'This could not be read as a request.' });
}
