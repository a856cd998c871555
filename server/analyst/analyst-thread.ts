import { parentPort } from 'node:worker_threads';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import type { Gap } from '@oddglass/shared/analysis/common/presentable.ts';
import { storyOf } from '@oddglass/shared/analysis/story/story.ts';
import type { AnalystMessage, AnalystQuestion } from './analyst-message.ts';

parentPort?.on('message', (asked: AnalystQuestion) => {
  const { id } = asked;
  let message: AnalystMessage;
  try {
    if ('story' in asked) message = { id, story: storyOf(asked.story) };
    else {
      const gaps: Gap[] = [];
      message = { id, document: analyseSession(asked.input, (gap) => gaps.push(gap)), gaps };
    }
  } catch (reason) {
    message = { id, failed: reason instanceof Error ? (reason.stack ?? reason.message) : String(reason) };
  }
  parentPort?.postMessage(message);
});
