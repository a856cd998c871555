import { listPulls, whenOf } from '@oddglass/db/queries/pull.ts';
import { listReadings } from '@oddglass/db/queries/reading.ts';
import type { Arm, Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { StoryInput } from '@oddglass/shared/contracts/story.ts';
import { checkFairTest } from '@oddglass/shared/fermentation/fair-test/check.ts';
import { momentOf } from '@oddglass/shared/notebook/due.ts';
import { fairTestInput } from '../../session-data/fair-test.ts';

/** Pulls with a date, the readings that count, and what the fair-test check finds: what a story has beside tastings. */
export async function listMeasured(
  db: Db,
  trial: Trial,
  arms: readonly Arm[],
): Promise<Pick<StoryInput, 'pulls' | 'readings' | 'record'>> {
  const pitchedAt = trial.pitchedAt?.toISOString() ?? null;
  const [pulls, readings, record] = await Promise.all([
    listPulls(db, trial.id),
    listReadings(db, trial.id),
    fairTestInput(db, trial, arms),
  ]);
  return {
    pulls: pulls.flatMap((row) => {
      const at = momentOf(whenOf(row), pitchedAt);
      return at === null || row.cancelledAt !== null ? [] : [{ id: row.id, name: row.name, at }];
    }),
    readings: readings
      .filter(({ current }) => current)
      .map(({ pullId, arm, takenAt, ph, gravity, temperatureC, takenMl, looks, smell }) => ({
        pullId,
        armId: arm,
        at: takenAt,
        ph,
        sg: gravity,
        temperatureC,
        takenMl,
        looks,
        smell,
      })),
    record: checkFairTest(record).map(({ id, kind, says, undoes, answered }) => ({
      id,
      kind,
      sentence: says,
      undoesFactor: undoes !== null,
      ...(undoes !== null && { undoes }),
      answered: answered !== null,
    })),
  };
}
