import { listArms, type Arm } from '@oddglass/db/queries/trial.ts';
import type { SoloRows, SoloSeries, SoloStoodRow } from '@oddglass/db/queries/solo.ts';
import type { Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import { sha256 } from '@noble/hashes/sha2.js';
import { utf8ToBytes } from '@noble/hashes/utils.js';
import { fairTestCaveats } from '@oddglass/shared/analysis/common/fair-test.ts';
import { analyseSolo } from '@oddglass/shared/analysis/solo/solo.ts';
import type { Cautions } from '@oddglass/shared/contracts/seat.ts';
import type { SoloResult } from '@oddglass/shared/contracts/solo-result.ts';
import type { SoloSettings, SoloStood, SoloView } from '@oddglass/shared/contracts/solo.ts';
import { allergen } from '@oddglass/shared/contracts/trial.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { soloSealText } from '@oddglass/shared/design/solo-seal.ts';
import { checkFairTest } from '@oddglass/shared/fermentation/fair-test/check.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { readSolo as readPlan } from '@oddglass/shared/planner/solo.ts';
import { soloStepOf } from '@oddglass/shared/rules/solo.ts';
import { z } from 'zod';
import type { Actor } from '../../access/actor.ts';
import type { PanelInHand } from '../../access/panel-access.ts';
import { fairTestInput } from '../../session-data/fair-test.ts';
import { soloStateOf, standingOf } from '../../session-data/solo-state.ts';

/** A series with where it belongs and all that was written of it. */
export interface SoloInHand {
  series: SoloSeries;
  trial: Trial;
  panel: PanelInHand;
  rows: SoloRows;
}

/** What is sealed of a series, as its text. */
export const sealTextOf = ({ id, trialId, sealedAt, settings, plan }: Omit<SoloSeries, 'by'>): string =>
  soloSealText({ id, trialId, at: sealedAt.toISOString(), settings, plan });

/** What a member of the panel may see of a series: their own as far as it is, another's once it is over. */
export async function soloViewOf(
  db: Db,
  actor: Actor,
  { series, trial, panel, rows }: SoloInHand,
): Promise<SoloView> {
  const state = soloStateOf(series, rows);
  const step = soloStepOf(state);
  const mine = series.accountId === actor.id;
  const told = mine || step.at === 'over';
  const arms = (await listArms(db, trial.id)).filter(({ id }) => series.settings.armIds.includes(id));
  return {
    id: series.id,
    trialId: trial.id,
    trialTitle: trial.title,
    demo: panel.demo,
    by: series.by,
    mine,
    settings: series.settings,
    plan: series.plan,
    seal: {
      root: series.root,
      fingerprint: fingerprint(series.root),
      text: sealTextOf(series),
      at: series.sealedAt.toISOString(),
    },
    step,
    endedEarly: state.ended,
    locks: told ? rows.locks.map(({ tray, hash, at }) => ({ tray, hash, at: at.toISOString() })) : [],
    trays: series.plan.trays.map(({ codes }, at) => {
      const number = at + 1;
      const answer = told ? rows.answers.find(({ tray }) => tray === number) : undefined;
      const own = told ? rows.stood.filter(({ tray }) => tray === number) : [];
      const standing = standingOf(own, number);
      return {
        number,
        codes,
        answer: answer ? { answer: answer.answer, at: answer.at.toISOString(), hash: answer.hash } : null,
        stood: standing ? entryOf(standing) : null,
        before: own.filter((row) => row !== standing).map(entryOf),
      };
    }),
    cautions: cautionsOf(series.settings, arms),
    result: step.at === 'over' ? await resultOf(db, trial, series, rows, arms) : null,
  };
}

const entryOf = ({ id, armIds, asPlanned, by, writtenAt }: SoloStoodRow): SoloStood => ({
  id,
  armIds,
  asPlanned,
  by,
  at: writtenAt.toISOString(),
});

/** United over the arms, so that they tell nothing of a cup. */
function cautionsOf(settings: SoloSettings, arms: readonly Arm[]): Cautions {
  const { cups, ethanolGrams } = readPlan(settings, arms);
  const held = z.array(allergen).parse([...new Set(arms.flatMap(({ allergens }) => allergens))].sort());
  return { allergens: held, allergensUnknown: false, ethanolGrams, cups, cupMl: settings.cupMl };
}

/** Orders that are drawn begin from the seal, so that the same series gives the same numbers. */
export function findingOf(series: SoloSeries, rows: SoloRows, fairTest: readonly string[]): SoloResult {
  const putRight = rows.stood.filter(({ replaces }) => replaces !== null).length;
  const random = seededRandom(sha256(utf8ToBytes(`${series.root} solo`)));
  return analyseSolo(soloStateOf(series, rows), { putRight, fairTest }, random);
}

async function resultOf(
  db: Db,
  trial: Trial,
  series: SoloSeries,
  rows: SoloRows,
  arms: readonly Arm[],
): Promise<SoloResult> {
  const findings = checkFairTest(await fairTestInput(db, trial, arms));
  return findingOf(
    series,
    rows,
    fairTestCaveats(findings).map(({ text }) => text),
  );
}
