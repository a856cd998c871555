import {
  findSoloSeries,
  insertSoloAnswer,
  insertSoloLock,
  insertSoloMoment,
  insertSoloSeries,
  insertSoloStood,
  isSoloAnswerId,
  isSoloStoodId,
  listSoloRows,
  listSoloSeries,
  lockSoloSeries,
} from '@oddglass/db/queries/solo.ts';
import { listArms, lockTrial, type Arm } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type {
  SoloAnswerInput,
  SoloEnd,
  SoloInput,
  SoloList,
  SoloPlan,
  SoloSettings,
  SoloStoodInput,
  SoloView,
} from '@oddglass/shared/contracts/solo.ts';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import { drawSoloTrays, soloAnswerText, soloHash } from '@oddglass/shared/design/solo-seal.ts';
import { randomUuid, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { readSolo as readPlan, soloLines } from '@oddglass/shared/planner/solo.ts';
import { judgeSafety } from '@oddglass/shared/rules/safety-gate.ts';
import { reasonsInWords } from '@oddglass/shared/rules/safety-words.ts';
import { answerTrouble, stoodTrouble } from '@oddglass/shared/rules/solo-checks.ts';
import { lockNeeded, soloPour, soloStepOf } from '@oddglass/shared/rules/solo.ts';
import { trialFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { knownSafety } from '../../session-data/arm-safety.ts';
import { armsWithFree } from '../../session-data/liquid.ts';
import { rowsOf, soloStateOf, standingOf } from '../../session-data/solo-state.ts';

import { findingOf, sealTextOf, soloViewOf, type SoloInHand } from './solo-view.ts';

async function inHand(db: Db, actor: Actor, id: string): Promise<SoloInHand> {
  const series = await findSoloSeries(db, id);
  if (!series) throw problem('not-found');
  const { trial, panel } = await trialFor(db, actor, series.trialId);
  return { series, trial, panel, rows: await listSoloRows(db, [id]) };
}

export async function readSolo(deps: Deps, actor: Actor, id: string): Promise<SoloView> {
  return soloViewOf(deps.db, actor, await inHand(deps.db, actor, id));
}

/** Series of a trial, newest first; findings of those that are over. */
export async function listSolo(deps: Deps, actor: Actor, trialId: string): Promise<SoloList> {
  const { trial } = await trialFor(deps.db, actor, trialId);
  const series = await listSoloSeries(deps.db, trial.id);
  const all = await listSoloRows(
    deps.db,
    series.map(({ id }) => id),
  );
  return {
    series: series.map((one) => {
      const rows = rowsOf(all, one.id);
      const over = soloStepOf(soloStateOf(one, rows)).at === 'over';
      return {
        id: one.id,
        by: one.by,
        mine: one.accountId === actor.id,
        kind: one.settings.kind,
        armNames: one.plan.arms.map(({ name }) => name),
        trays: one.settings.trays,
        answered: rows.answers.length,
        at: one.sealedAt.toISOString(),
        over,
        headline: over ? findingOf(one, rows, []).headline : null,
      };
    }),
  };
}

/** Seals settings, codes and lines, before anything is poured. Sent twice it is sealed once. */
export async function sealSolo(
  deps: Deps,
  actor: Actor,
  trialId: string,
  { id, settings }: SoloInput,
): Promise<SoloView> {
  const { trial } = await trialFor(deps.db, actor, trialId);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, trial.id);
    const known = await findSoloSeries(tx, id);
    if (known) {
      const same = canonicalJson(known.settings) === canonicalJson(settings);
      if (known.trialId === trial.id && known.accountId === actor.id && same) return;
      throw problem('id-taken');
    }
    const arms = await listArms(tx, trial.id);
    const own = settings.armIds.flatMap((armId) => arms.find((arm) => arm.id === armId) ?? []);
    if (own.length !== settings.armIds.length) throw problem('arm-out-of-trial');
    refuseTooLittle(settings, await armsWithFree(tx, trial, arms));
    const row = {
      id,
      trialId: trial.id,
      accountId: actor.id,
      settings,
      plan: planOf(deps.random, settings, own),
      sealedAt: deps.clock(),
    };
    const root = soloHash(sealTextOf({ ...row, root: '' }));
    if (!(await insertSoloSeries(tx, { ...row, root }))) throw problem('id-taken');
  });
  return readSolo(deps, actor, id);
}

function refuseTooLittle(settings: SoloSettings, arms: readonly Arm[]): void {
  const short = readPlan(settings, arms).liquid.filter(({ enough }) => !enough);
  if (short.length === 0) return;
  const errors = short.map(({ name, needMl, leftMl }) => ({
    pointer: '#/settings/trays',
    detail: `${name}: the series takes ${needMl} mL, and ${Math.floor(Math.max(0, leftMl))} mL are free.`,
  }));
  throw problem('not-enough-liquid', { detail: errors.map(({ detail }) => detail).join(' '), errors });
}

const MARKS = ['A', 'B', 'C', 'D'];

function planOf(random: RandomSource, settings: SoloSettings, arms: readonly Arm[]): SoloPlan {
  const { poured, tasted } = soloPour(settings);
  return {
    arms: arms.map(({ id, name }, at) => ({ id, name, mark: MARKS[at] ?? '' })),
    trays: drawSoloTrays(random, { trays: settings.trays, poured, tasted }),
    lines: settings.kind !== 'rating' && settings.stopping === 'by-lines' ? { ...soloLines(settings) } : null,
  };
}

/** One change of one's own series, under its lock. */
async function change(
  deps: Deps,
  actor: Actor,
  id: string,
  work: (tx: Db, current: SoloInHand) => Promise<void>,
): Promise<SoloView> {
  await deps.db.transaction(async (tx) => {
    await lockSoloSeries(tx, id);
    const current = await inHand(tx, actor, id);
    if (current.series.accountId !== actor.id) throw problem('not-allowed');
    await work(tx, current);
  });
  return readSolo(deps, actor, id);
}

/** The gate, as it stands at the moment; then the cautions are read for the whole series. */
export const confirmCautions = (deps: Deps, actor: Actor, id: string) =>
  change(deps, actor, id, async (tx, { series, trial }) => {
    const now = deps.clock();
    await refuseUnfit(tx, trial.id, series.settings, now);
    await insertSoloMoment(tx, { seriesId: id, kind: 'cautions', note: '', at: now });
  });

async function refuseUnfit(tx: Db, trialId: string, { armIds }: SoloSettings, now: Date): Promise<void> {
  const arms = (await listArms(tx, trialId)).filter((arm) => armIds.includes(arm.id));
  const known = await knownSafety(tx, armIds);
  const errors = arms.flatMap(({ id, name, abv }) => {
    const judged = judgeSafety({ abv, facts: known.get(id)?.facts ?? null }, now);
    return judged.verdict === 'taste'
      ? []
      : [{ pointer: `#/arms/${id}`, detail: `${name}: ${reasonsInWords(judged).join(' ')}` }];
  });
  if (errors.length > 0)
    throw problem('unsafe-to-taste', { detail: errors.map(({ detail }) => detail).join(' '), errors });
}

/** Takes the answer of the tray in hand, once and for good, and locks what may be turned after it. */
export const lockAnswer = (deps: Deps, actor: Actor, id: string, input: SoloAnswerInput) =>
  change(deps, actor, id, async (tx, { series, rows }) => {
    const known = rows.answers.find((row) => row.id === input.id);
    if (known) {
      if (known.tray === input.tray && canonicalJson(known.answer) === canonicalJson(input.answer)) return;
      throw problem('id-taken');
    }
    if (await isSoloAnswerId(tx, input.id)) throw problem('id-taken');
    if (rows.answers.some(({ tray }) => tray === input.tray)) throw problem('tray-answered');
    const step = soloStepOf(soloStateOf(series, rows));
    if (step.at === 'cautions') throw problem('cautions-open');
    if (step.at !== 'tray' || step.tray !== input.tray) throw problem('not-this-tray');
    const trouble = answerTrouble(series, input);
    if (trouble) throw fieldProblem('#/answer', trouble);
    const at = deps.clock();
    const before = rows.answers.at(-1)?.hash ?? series.root;
    const hash = soloHash(soloAnswerText({ id: input.id, tray: input.tray, answer: input.answer, before }));
    const row = { id: input.id, seriesId: id, tray: input.tray, answer: input.answer, hash, at };
    await insertSoloAnswer(tx, row);
    const state = soloStateOf(series, { ...rows, answers: [...rows.answers, row] });
    const tray = lockNeeded(state, input.tray);
    if (tray !== undefined)
      await insertSoloLock(tx, { id: randomUuid(deps.random), seriesId: id, tray, hash, at });
  });

/** Nothing more is poured. What was answered is locked, and can be turned. */
export const endSolo = (deps: Deps, actor: Actor, id: string, { note }: SoloEnd) =>
  change(deps, actor, id, async (tx, { series, rows }) => {
    const state = soloStateOf(series, rows);
    if (state.ended || soloStepOf(state).at === 'over') return;
    const at = deps.clock();
    await insertSoloMoment(tx, { seriesId: id, kind: 'ended', note, at });
    const last = rows.answers.at(-1);
    const byLines = series.plan.lines !== null;
    if (last && !byLines)
      await insertSoloLock(tx, {
        id: randomUuid(deps.random),
        seriesId: id,
        tray: null,
        hash: last.hash,
        at,
      });
  });

/** What stood where, told after the answers are locked; later entries put it right and stand beside it. */
export const noteStood = (deps: Deps, actor: Actor, id: string, input: SoloStoodInput) =>
  change(deps, actor, id, async (tx, { series, rows }) => {
    const state = soloStateOf(series, rows);
    const needed = lockNeeded(state, input.tray);
    const lock = rows.locks.find(({ tray }) => tray === needed);
    // Before anything of it is looked at: an entry that comes too early leaves no trace.
    if (needed === undefined || !lock) throw problem('answers-not-locked');
    const known = rows.stood.find((row) => row.id === input.id);
    if (known) {
      if (known.tray === input.tray && known.armIds.join() === input.armIds.join()) return;
      throw problem('id-taken');
    }
    if (await isSoloStoodId(tx, input.id)) throw problem('id-taken');
    if (state.trays[input.tray - 1]?.answer?.kind === 'left-out') throw problem('not-this-tray');
    const trouble = stoodTrouble(series, input);
    if (trouble) throw fieldProblem('#/armIds', trouble);
    if ((standingOf(rows.stood, input.tray)?.id ?? null) !== input.replaces) throw problem('entry-moved');
    await insertSoloStood(tx, {
      id: input.id,
      seriesId: id,
      tray: input.tray,
      lockId: lock.id,
      armIds: input.armIds,
      asPlanned: input.asPlanned,
      replaces: input.replaces,
      writtenBy: actor.id,
      writtenAt: deps.clock(),
    });
  });
