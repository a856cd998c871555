import type { IncomingMessage, ServerResponse } from 'node:http';

// Pages that stand in for the built ones: what they do is in their address.

interface Asking extends IncomingMessage {
  answerApi: (asked: { url: string; headers: Record<string, string> }) => Promise<{ payload: string }>;
}

export function handler(request: IncomingMessage, response: ServerResponse, next: () => void): void {
  const act = request.url?.split('/')[2];
  response.setHeader('content-type', 'text/html');
  if (act === 'nowhere') next();
  else if (act === 'exit') process.exit(3);
  else if (act === 'hang') for (;;);
  else if (act === 'throw') throw new Error('a page that cannot be made');
  else if (act === 'asks') {
    const asked = (request as Asking).answerApi({ url: '/api/p/asked', headers: { host: 'here' } });
    void asked.then(({ payload }) => response.end(`it said ${payload}`));
  } else response.end(`for ${request.headers.host} by ${request.headers['x-forwarded-proto']}`);
}
