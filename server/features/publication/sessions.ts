import { findSession } from '@oddglass/db/queries/session.ts';
import type { Panel } from '@oddglass/db/queries/panel.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Refusal } from '@oddglass/shared/contracts/publishing.ts';
import type { Reading } from '../../freeze/compose.ts';
import { readPublishable } from '../../session-data/session-input.ts';

/** Reads the chosen sessions of a trial; one that is of another trial, or not revealed, is refused by its place. */
export async function readSessions(
  db: Db,
  { trialId, panel, sessionIds }: { trialId: string; panel: Panel; sessionIds: readonly string[] },
): Promise<{ readings: Reading[]; refusals: Refusal[] }> {
  const readings: Reading[] = [];
  const refusals: Refusal[] = [];
  for (const [place, sessionId] of sessionIds.entries()) {
    const session = await findSession(db, sessionId);
    const pointer = `#/sessionIds/${place}`;
    // A session of somebody else is refused as one that does not exist.
    if (!session || session.trialId !== trialId) {
      refusals.push({ pointer, detail: 'This session is not of this trial.' });
    } else if (session.rehearsal) {
      const { title } = session.settings;
      refusals.push({
        pointer,
        detail: `‘${title}’ is a rehearsal: nothing was tasted, so nothing can be published.`,
      });
    } else if (session.state !== 'revealed') {
      refusals.push({ pointer, detail: `‘${session.settings.title}’ is not revealed yet.` });
    } else {
      readings.push({ ...(await readPublishable(db, session, panel)), sessionId, place });
    }
  }
  return { readings, refusals };
}
