import { listDeviations } from '@oddglass/db/queries/deviation.ts';
import { listFairTestAnswers } from '@oddglass/db/queries/fair-test.ts';
import { listReadingsOfArms } from '@oddglass/db/queries/reading.ts';
import type { Arm, Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import { armMaking } from '@oddglass/shared/contracts/making.ts';
import { readingsOf } from '@oddglass/shared/notebook/last-reading.ts';
import type { FairTestInput } from '@oddglass/shared/fermentation/fair-test/check.ts';

/** All that the fair-test check of these arms stands on, as the trial has it now. */
export async function fairTestInput(
  db: Db,
  trial: Pick<Trial, 'id' | 'factorFields'>,
  arms: readonly Arm[],
): Promise<FairTestInput> {
  // One after the other: a transaction has one connection.
  const deviations = await listDeviations(
    db,
    arms.map(({ id }) => id),
  );
  const readings = await listReadingsOfArms(
    db,
    arms.map(({ id }) => id),
  );
  const answers = await listFairTestAnswers(db, trial.id);
  return {
    factorFields: trial.factorFields,
    answers,
    arms: arms.map(({ id, name, making }) => ({
      id,
      name,
      making: armMaking.parse(making),
      signs: deviations.flatMap(({ armId, sign, on }) =>
        armId === id && sign !== null ? [{ sign, on }] : [],
      ),
      readings: readingsOf(readings, id).map(({ takenAt, ph, gravity }) => ({ at: takenAt, ph, gravity })),
    })),
  };
}
