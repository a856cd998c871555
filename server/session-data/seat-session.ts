import type { Db } from '@oddglass/db/client.ts';
import { findPanel } from '@oddglass/db/queries/panel.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { SessionAtSeat } from '@oddglass/shared/contracts/seat.ts';
import { allergen } from '@oddglass/shared/contracts/common.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { ethanolGrams } from '@oddglass/shared/fermentation/ethanol.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { tableAllergens } from '@oddglass/shared/rules/allergens.ts';
import { strongestCup } from '@oddglass/shared/rules/ethanol.ts';
import { wavesOf } from '@oddglass/shared/rules/waves.ts';
import { workloadPerSeat } from '@oddglass/shared/rules/parts.ts';
import { z } from 'zod';

/**
 * What an assessor may know. Allergens are united and ethanol is that of the strongest cup throughout, so that
 * nothing here tells one sample from another.
 */
export async function sessionAtSeat(db: Db, session: Session): Promise<SessionAtSeat> {
  const { settings } = session;
  const [panel, arms] = await Promise.all([findPanel(db, session.panelId), listArms(db, session.trialId)]);
  const table = tableAllergens(
    settings.parts,
    arms.map((arm) => ({ id: arm.id, allergens: z.array(allergen).parse(arm.allergens) })),
  );
  const { trays, cups } = workloadPerSeat(settings.parts);
  const strongest = strongestCup(settings.parts, arms);
  return {
    title: settings.title,
    state: session.state,
    demo: panel?.demo ?? false,
    rehearsal: session.rehearsal !== null,
    masking: settings.masking,
    smellOnly: session.smellOnly,
    stopped: session.stoppedAt !== null,
    // Questions without samples: how many arms, duplicates or spikes there are stays with the host.
    parts: settings.parts.map((part) => kindOf(part).atSeat(part)),
    trays,
    restSeconds: settings.restSeconds,
    fingerprint: session.root ? fingerprint(session.root) : '',
    root: session.root ?? '',
    ...(wavesOf(settings, session.wave) && { inWaves: true as const }),
    answersRoot: session.answersRoot,
    cautions: {
      allergens: table.allergens,
      allergensUnknown: table.unknown,
      ethanolGrams:
        strongest === null ? null : ethanolGrams({ ml: cups * settings.cupMl, abvPercent: strongest }),
      cups,
      cupMl: settings.cupMl,
    },
  };
}
