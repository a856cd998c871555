import type { IncomingMessage, ServerResponse } from 'node:http';
import { parentPort, workerData } from 'node:worker_threads';
import inject from 'light-my-request';
import type { FromPages, PageQuestion, ToPages } from './pages-message.ts';

type Said = Extract<ToPages, { said: unknown }>['said'];
type Handler = (request: IncomingMessage, response: ServerResponse, next: () => void) => void;

// Everything that is thrown here reaches the other side as the end of the thread; it then makes the page itself.
const { handler } = (await import(String(workerData))) as { handler: Handler };
const waiting = new Map<number, (said: Said) => void>();
let asked = 0;

const tell = (message: FromPages, moved: ArrayBuffer[] = []): void => parentPort?.postMessage(message, moved);

/** A page's own questions to the API are answered where the database is. */
function answerApi({ url, headers }: PageQuestion): Promise<Said> {
  const id = ++asked;
  const said = new Promise<Said>((resolve) => waiting.set(id, resolve));
  tell({ id, ask: { url, headers } });
  return said;
}

async function make(id: number, { url, headers }: PageQuestion): Promise<void> {
  const answer = await inject(
    (request, response) =>
      handler(Object.assign(request as unknown as IncomingMessage, { answerApi }), response as never, () => {
        response.statusCode = 404;
        response.end('Nothing here');
      }),
    { method: 'GET', url, headers },
  );
  const told: Record<string, string> = {};
  for (const [name, value] of Object.entries(answer.headers)) told[name] = String(value);
  const body = new Uint8Array(answer.rawPayload);
  tell({ id, made: { status: answer.statusCode, headers: told, body } }, [body.buffer]);
}

parentPort?.on('message', (message: ToPages) => {
  const { id } = message;
  if ('said' in message) {
    waiting.get(id)?.(message.said);
    waiting.delete(id);
    return;
  }
  make(id, message.make).catch((reason: unknown) =>
    tell({ id, failed: reason instanceof Error ? (reason.stack ?? reason.message) : String(reason) }),
  );
});
