import { parentPort } from 'node:worker_threads';
import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { AnalystMessage } from './analyst.ts';

parentPort?.on('message', ({ input }: { input: SessionInput }) => {
  let message: AnalystMessage;
  try {
    message = { document: analyseSession(input) };
  } catch (reason) {
    message = { failed: reason instanceof Error ? (reason.stack ?? reason.message) : String(reason) };
  }
  parentPort?.postMessage(message);
});
