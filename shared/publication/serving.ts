import type { SessionInput } from '../analysis/analyse.ts';
import type { PublishedServing } from '../contracts/publication.ts';
import { isPassable } from './record-texts.ts';

/**
 * How the cups of a session were served, for readers: what was fixed, and what whoever poured noted. The host's note to whoever
 * poured is free text and may name somebody, so it goes along only where the host passed it word for word. How the arms differed to
 * the eye is not told: it may name them.
 */
export function servingOf(
  { session, settings }: Pick<SessionInput, 'session' | 'settings'>,
  passed: readonly string[],
): PublishedServing {
  const note = settings.servingNote.trim();
  const { conditions } = session;
  return {
    masking: settings.masking,
    note: note === '' ? '' : passed.includes(note) && isPassable(note) ? note : null,
    ...(conditions && { temperatureC: conditions.temperatureC, looks: conditions.looks }),
    cupMl: session.cupMl,
    restSeconds: session.restSeconds,
    smellOnly: session.smellOnly,
    stopped: session.stopped,
  };
}
