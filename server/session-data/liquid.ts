import { listLiquid } from '@oddglass/db/queries/liquid.ts';
import { listPlannedOfTrial } from '@oddglass/db/queries/session.ts';
import type { Arm, Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { LiquidView } from '@oddglass/shared/contracts/liquid.ts';
import { freeMl, liquidLedger } from '@oddglass/shared/fermentation/ledger.ts';
import { liquidOf } from '@oddglass/shared/planner/plan-liquid.ts';

/**
 * The ledger of each arm of a trial. A tasting that is sealed and not revealed holds back what its plan needs at most,
 * whatever was poured by now: anything finer would tell the key.
 */
export async function liquidOfTrial(
  db: Db,
  trial: Pick<Trial, 'id' | 'createdAt'>,
  arms: readonly Arm[],
): Promise<Map<string, LiquidView>> {
  // One after the other: a transaction has one connection.
  const entries = await listLiquid(
    db,
    arms.map(({ id }) => id),
  );
  const sessions = await listPlannedOfTrial(db, trial.id);
  const filled = { at: trial.createdAt.toISOString(), order: 0, note: '' };
  return new Map(
    arms.map((arm) => {
      const own = entries.filter(({ armId }) => armId === arm.id);
      const reservedMl = sessions.reduce((sum, settings) => sum + liquidOf(settings, arm).needMl, 0);
      const vesselMl = arm.making.vesselMl ?? null;
      return [
        arm.id,
        liquidLedger([{ kind: 'filled', ml: arm.volumeMl, ...filled }, ...own], { reservedMl, vesselMl }),
      ];
    }),
  );
}

/** The arms with what a further plan can use of them. */
export async function armsWithFree(
  db: Db,
  trial: Pick<Trial, 'id' | 'createdAt'>,
  arms: readonly Arm[],
): Promise<Arm[]> {
  const liquid = await liquidOfTrial(db, trial, arms);
  return arms.map((arm) => {
    const view = liquid.get(arm.id);
    return { ...arm, volumeMl: view ? freeMl(view) : arm.volumeMl };
  });
}
