import type { WebSocket } from '@fastify/websocket';
import { PULSE_EVERY_MS, SIGN_IN_ENDED, type pulse } from '@oddglass/shared/contracts/live.ts';
import type { z } from 'zod';

const PULSE: z.infer<typeof pulse> = { type: 'pulse' };

/**
 * Keeps a socket honest both ways: a tablet that walked out of the network closes nothing, so one that answers no
 * ping is let go, and the page hears a pulse and knows that silence means a broken way.
 *
 * `holds` is asked at every pulse whether what let the socket in still does; a sign-in may have ended elsewhere.
 */
export function keepPulse(socket: WebSocket, holds?: () => Promise<boolean>): void {
  let answered = true;
  const timer = setInterval(() => {
    if (!answered) {
      socket.terminate();
      return;
    }
    answered = false;
    socket.ping();
    socket.send(JSON.stringify(PULSE));
    // While the database is away nobody knows; the next pulse asks again.
    holds?.().then(
      (still) => {
        if (!still) socket.close(SIGN_IN_ENDED);
      },
      () => undefined,
    );
  }, PULSE_EVERY_MS);
  timer.unref();
  socket.on('pong', () => (answered = true));
  socket.on('close', () => clearInterval(timer));
}
