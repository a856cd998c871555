import { listLiquid } from '@oddglass/db/queries/liquid.ts';
import { readSoloStates, type SoloWithState } from './solo-state.ts';
import { listReadingsOfArms } from '@oddglass/db/queries/reading.ts';
import { listPlannedOfTrial } from '@oddglass/db/queries/session.ts';
import type { Arm, Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { LiquidView } from '@oddglass/shared/contracts/liquid.ts';
import { freeMl, liquidLedger, type LiquidEntry } from '@oddglass/shared/fermentation/ledger.ts';
import { readingsOf } from '@oddglass/shared/notebook/last-reading.ts';
import { liquidOf } from '@oddglass/shared/planner/plan-liquid.ts';
import { soloPour, soloStepOf } from '@oddglass/shared/rules/solo.ts';

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
  const armIds = arms.map(({ id }) => id);
  const entries = await listLiquid(db, armIds);
  const readings = await listReadingsOfArms(db, armIds);
  const sessions = await listPlannedOfTrial(db, trial.id);
  const alone = await readSoloStates(db, trial.id);
  return new Map(
    arms.map((arm) => {
      const pulls = readingsOf(readings, arm.id).map(({ takenAt, takenMl }, order): LiquidEntry => ({
        kind: 'pull',
        ml: takenMl ?? 0,
        at: takenAt,
        order,
        note: '',
      }));
      const own = [
        ...pulls.filter(({ ml }) => ml > 0),
        ...entries.filter(({ armId }) => armId === arm.id),
        ...alone.flatMap((series) => takenAlone(series, arm.id)),
      ];
      // A reading may be older than the record of the trial: nothing was taken before the arm was filled.
      const [first = ''] = [trial.createdAt.toISOString(), ...own.map(({ at }) => at)].sort();
      const filled: LiquidEntry = { kind: 'filled', ml: arm.volumeMl, at: first, order: -1, note: '' };
      const reservedMl =
        sessions.reduce((sum, settings) => sum + liquidOf(settings, arm).needMl, 0) +
        alone.reduce((sum, series) => sum + heldAlone(series, arm.id), 0);
      const vesselMl = arm.making.vesselMl ?? null;
      return [arm.id, liquidLedger([filled, ...own], { reservedMl, vesselMl })];
    }),
  );
}

/** A tray poured alone takes as much of every arm, so that the ledger tells nothing of a cup. */
const trayMl = ({ state: { settings } }: SoloWithState, armId: string): number =>
  settings.armIds.includes(armId) ? soloPour(settings).each * settings.cupMl : 0;

const takenAlone = (series: SoloWithState, armId: string): LiquidEntry[] =>
  series.answers.flatMap(({ at, tray }) => {
    const ml = trayMl(series, armId);
    return ml === 0
      ? []
      : [
          {
            kind: 'poured' as const,
            ml,
            at: at.toISOString(),
            order: tray,
            note: `Tasted alone, tray ${tray}`,
          },
        ];
  });

const heldAlone = (series: SoloWithState, armId: string): number =>
  soloStepOf(series.state).at === 'over'
    ? 0
    : series.state.trays.filter(({ answer }) => answer === null).length * trayMl(series, armId);

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
