import { parentPort } from 'node:worker_threads';
import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { Gap } from '@oddglass/shared/analysis/common/presentable.ts';
import type { AnalystMessage } from './analyst-message.ts';

parentPort?.on('message', ({ id, input }: { id: number; input: SessionInput }) => {
  let message: AnalystMessage;
  try {
    const gaps: Gap[] = [];
    message = { id, document: analyseSession(input, (gap) => gaps.push(gap)), gaps };
  } catch (reason) {
    message = { id, failed: reason instanceof Error ? (reason.stack ?? reason.message) : String(reason) };
  }
  parentPort?.postMessage(message);
});
