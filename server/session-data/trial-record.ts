import { listPulls, whenOf } from '@oddglass/db/queries/pull.ts';
import { listReadings } from '@oddglass/db/queries/reading.ts';
import { listArms, type Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import { baseMaking } from '@oddglass/shared/contracts/making.ts';
import type { TrialRecord } from '@oddglass/shared/publication/record-texts.ts';
import { fairTestInput } from './fair-test.ts';

/** How a trial was made and what was read of it, as far as a publication may draw on it: standing readings up to a moment. */
export async function trialRecord(db: Db, trial: Trial, until: Date): Promise<TrialRecord> {
  const [arms, pulls, readings] = await Promise.all([
    listArms(db, trial.id),
    listPulls(db, trial.id),
    listReadings(db, trial.id),
  ]);
  const planned = new Map(pulls.map((row) => [row.id, whenOf(row).kind !== 'unplanned']));
  return {
    base: trial.base,
    making: baseMaking.parse(trial.making),
    pitchedAt: trial.pitchedAt?.toISOString() ?? null,
    abv: new Map(arms.map(({ id, abv }) => [id, abv])),
    fairTest: await fairTestInput(db, trial, arms),
    readings: readings
      .filter(({ current, takenAt }) => current && Date.parse(takenAt) <= until.getTime())
      .map(({ pullId, arm, takenAt, ph, gravity, temperatureC, looks, smell, added, note }) => ({
        armId: arm,
        takenAt,
        planned: planned.get(pullId) ?? false,
        ph,
        gravity,
        temperatureC,
        looks,
        smell,
        added,
        note,
      })),
  };
}
