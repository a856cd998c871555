import type { Db } from '@oddglass/db/client.ts';
import { findPanel } from '@oddglass/db/queries/panel.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { SessionAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { allergen } from '@oddglass/shared/contracts/trial.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { ethanolOfSession } from '@oddglass/shared/analysis/triangle-plan.ts';
import { z } from 'zod';

/**
 * What an assessor may know. Allergens are united and ethanol is that of the stronger arm throughout, so that
 * nothing here tells one sample from the other.
 */
export async function sessionAtSeat(db: Db, session: Session): Promise<SessionAtSeat> {
  const { settings } = session;
  const [panel, arms] = await Promise.all([findPanel(db, session.panelId), listArms(db, session.trialId)]);
  const compared = arms.filter(({ id }) => settings.armIds.includes(id));
  const allergens = [...new Set(compared.flatMap((arm) => arm.allergens))].sort();
  return {
    title: settings.title,
    state: session.state,
    demo: panel?.demo ?? false,
    masking: settings.masking,
    replicates: settings.replicates,
    restSeconds: settings.restSeconds,
    fingerprint: session.root ? fingerprint(session.root) : '',
    cautions: {
      allergens: z.array(allergen).parse(allergens),
      ethanolGrams: ethanolOfSession(settings, compared),
      cups: settings.replicates * 3,
      cupMl: settings.cupMl,
    },
  };
}
