import type { WebSocket } from '@fastify/websocket';
import { PULSE_EVERY_MS, type pulse } from '@oddglass/shared/contracts/live.ts';
import type { z } from 'zod';

const PULSE: z.infer<typeof pulse> = { type: 'pulse' };

/**
 * Keeps a socket honest both ways: a tablet that walked out of the network closes nothing, so one that answers no
 * ping is let go, and the page hears a pulse and knows that silence means a broken way.
 */
export function keepPulse(socket: WebSocket): void {
  let answered = true;
  const timer = setInterval(() => {
    if (!answered) {
      socket.terminate();
      return;
    }
    answered = false;
    socket.ping();
    socket.send(JSON.stringify(PULSE));
  }, PULSE_EVERY_MS);
  timer.unref();
  socket.on('pong', () => (answered = true));
  socket.on('close', () => clearInterval(timer));
}
