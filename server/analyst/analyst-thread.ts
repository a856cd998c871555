import { createHash } from 'node:crypto';
import { parentPort } from 'node:worker_threads';
import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { Gap } from '@oddglass/shared/analysis/common/presentable.ts';
import { storyOf } from '@oddglass/shared/analysis/story/story.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { zipPackage } from '@oddglass/shared/publication/package.ts';
import { PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import { freeze, previewText } from '../freeze/freeze.ts';
import type { AnalystMessage, AnalystQuestion } from './analyst-message.ts';

// Sessions of one publication are prepared one by one, so that others get their turn between them.
const MAX_PREPARED = 12;
const prepared = new Map<string, ResultDocument>();

/** The same session gives the same document: a host who decides looks at it many times. */
function prepare(input: SessionInput): ResultDocument {
  const key = createHash('sha256').update(JSON.stringify(input)).digest('base64');
  const document = prepared.get(key) ?? analyseSession(input);
  prepared.delete(key);
  prepared.set(key, document);
  for (const oldest of prepared.keys()) {
    if (prepared.size <= MAX_PREPARED) break;
    prepared.delete(oldest);
  }
  return document;
}

function answer(asked: AnalystQuestion): AnalystMessage {
  const { id } = asked;
  if ('story' in asked) return { id, story: storyOf(asked.story) };
  if ('preview' in asked) return { id, preview: previewText(asked.preview, prepare) };
  if ('freeze' in asked) return { id, frozen: freeze(asked.freeze, asked.pageAt, prepare) };
  if ('files' in asked) return { id, zip: zipPackage(asked.files) };
  if ('prepare' in asked) {
    prepare(asked.prepare);
    return { id, prepared: true };
  }
  const gaps: Gap[] = [];
  return { id, document: analyseSession(asked.input, (gap) => gaps.push(gap)), gaps };
}

parentPort?.on('message', (asked: AnalystQuestion) => {
  const { id } = asked;
  let message: AnalystMessage;
  try {
    message = answer(asked);
  } catch (reason) {
    message =
      reason instanceof PublicationRefused
        ? { id, refused: { field: reason.field, reason: reason.reason, message: reason.message } }
        : { id, failed: reason instanceof Error ? (reason.stack ?? reason.message) : String(reason) };
  }
  // The bytes of a package are handed over rather than copied.
  const zip = 'frozen' in message ? message.frozen.zip : 'zip' in message ? message.zip : null;
  const moved = zip === null ? [] : [zip.buffer as ArrayBuffer];
  parentPort?.postMessage(message, moved);
});
