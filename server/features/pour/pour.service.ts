import { appendEvent, lastToldPoured } from '@oddglass/db/queries/event.ts';
import {
  countServings,
  insertPourTicks,
  insertServingNote,
  listDilutionSteps,
  listKeyedServings,
  listPoured,
  listSamples,
  newestServingNotes,
  samplesOfServings,
  tallyTrays,
} from '@oddglass/db/queries/key.ts';
import type {
  PourTickAnswer,
  PourTickInput,
  PourView,
  ServingConditions,
} from '@oddglass/shared/contracts/pour.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { mayPourDilution } from '@oddglass/shared/rules/dilution.ts';
import { workloadPerSeat } from '@oddglass/shared/rules/parts.ts';
import { wavesOf } from '@oddglass/shared/rules/waves.ts';
import { runsOf } from '@oddglass/shared/rules/sites.ts';
import type { Db } from '@oddglass/db/client.ts';
import { reasonsInWords } from '@oddglass/shared/rules/safety-words.ts';
import { judgeArms } from '../../session-data/arm-safety.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { sessionFor } from '../../access/panel-access.ts';
import { inSession, type Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { noteKeyOpening, noteKeyReading } from '../../session-data/key-openings.ts';
import { fieldProblem, problem } from '../../refusal/problem.ts';
import { bottlesOf, dilutionOf } from './bottles.ts';
import { mayTick, othersWithKey, refuseWithoutKey } from './key-holders.ts';

export async function readPour(deps: Deps, actor: Actor, sessionId: string): Promise<PourView> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  refuseWithoutKey(session, panel);
  await noteKeyReading(deps, session, actor);
  const [samples, servings, poured, noted, judged, steps, others] = await Promise.all([
    listSamples(deps.db, sessionId),
    listKeyedServings(deps.db, sessionId),
    listPoured(deps.db, sessionId),
    newestServingNotes(deps.db, sessionId),
    mayTick(session) ? judgeArms(deps.db, session, deps.clock()) : [],
    listDilutionSteps(deps.db, sessionId),
    mayTick(session) ? othersWithKey(deps.db, session, actor) : [],
  ]);
  const root = session.root ?? '';
  const { title, cupMl, servingNote, parts } = session.settings;
  const waves = wavesOf(session.settings, session.wave);
  return {
    title,
    fingerprint: fingerprint(root),
    root,
    demo: panel.demo,
    rehearsal: session.rehearsal !== null,
    trialId: session.trialId,
    conditions: noted.find(({ site }) => site === undefined) ?? null,
    ...placesOf(session, noted),
    cupMl,
    servingNote,
    trays: workloadPerSeat(parts).trays,
    ...(waves && { waves }),
    parts: parts.map(({ kind }) => kind),
    samples: bottlesOf(samples, session.settings).map(({ ids, dose, armId, ...bottle }) => ({
      ...bottle,
      dose: dose ?? null,
      dilution: dilutionOf(bottle, steps, actor.id),
      safety: judged.find((arm) => arm.armId === armId) ?? null,
      cups: servings
        .filter(({ sampleId }) => ids.has(sampleId))
        .map(({ servingId, code, mark, seat, trayNumber, part, position, spare, seatTaken }) => ({
          servingId,
          code,
          mark,
          seat,
          trayNumber,
          part,
          position,
          spare,
          seatTaken,
          poured: poured.has(servingId),
        })),
    })),
    othersWithKey: others,
  };
}

/** How the cups are served, by whoever pours; no board hears of it, since how arms look tells which is which. */
export async function noteServing(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  conditions: ServingConditions,
): Promise<PourView> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  await inSession(deps, sessionId, async (tx, session) => {
    refuseWithoutKey(session, panel);
    await noteKeyOpening(tx, session, actor, deps.clock());
    // What is known of arms by then would colour what is said of their looks.
    if (session.state === 'revealed') throw problem('wrong-state');
    refuseStrangeSite(session, conditions);
    await insertServingNote(tx, { sessionId, conditions, by: actor.id, at: deps.clock() });
  });
  return readPour(deps, actor, sessionId);
}

/** The places poured for: all of the plan, or the one a server has of it. Nothing where there is only one. */
function placesOf(
  { settings, guest }: Session,
  noted: ServingConditions[],
): Pick<PourView, 'sites' | 'siteConditions'> {
  const sites = guest
    ? [{ site: guest.site, name: guest.name, first: 1, last: settings.assessors + settings.spareSeats }]
    : runsOf(settings).sites;
  return sites ? { sites, siteConditions: noted.filter(({ site }) => site !== undefined) } : {};
}

/** Of several places it is said at which one this was noted; of one place nothing is. */
function refuseStrangeSite(session: Session, { site, transport, minutesSincePour }: ServingConditions): void {
  const { sites } = placesOf(session, []);
  if (sites && !sites.some((one) => one.site === site))
    throw fieldProblem('#/site', 'Say at which place this was noted.');
  const said = [site, transport, minutesSincePour].some((one) => one !== undefined);
  if (!sites && said) throw fieldProblem('#/site', 'This tasting is held at one place.');
}

/** What was found unfit is not poured; that nobody has looked yet is told at the opening. */
async function refuseUnfit(
  deps: Deps,
  tx: Db,
  session: Session,
  servingIds: readonly string[],
): Promise<void> {
  const unfit = (await judgeArms(tx, session, deps.clock())).filter(
    ({ verdict, reasons }) => verdict === 'refuse' && reasons.some((reason) => reason !== 'not-looked-at'),
  );
  if (unfit.length === 0) return;
  const cups = await listKeyedServings(tx, session.id);
  const asked = new Set(servingIds);
  const [arm] = unfit.filter(({ armId }) =>
    cups.some((cup) => cup.armId === armId && asked.has(cup.servingId)),
  );
  if (!arm) return;
  throw problem('unsafe-to-taste', { detail: `${arm.name}: ${reasonsInWords(arm).join(' ')}` });
}

/** Ticks cups as poured, or takes ticks back. Other pour lists hear of it; boards of hosts hear of finished trays. */
export async function tickCups(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  { servingIds, poured }: PourTickInput,
): Promise<PourTickAnswer> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  const answer = await inSession(deps, sessionId, async (tx, session) => {
    refuseWithoutKey(session, panel);
    if (!mayTick(session)) throw problem('wrong-state');
    // Which cups may be ticked tells of their bottle too.
    await noteKeyOpening(tx, session, actor, deps.clock());
    if (poured) await refuseUnfit(deps, tx, session, servingIds);
    const ids = [...new Set(servingIds)];
    if ((await countServings(tx, sessionId, ids)) !== ids.length) {
      throw fieldProblem('#/servingIds', 'Some of these cups are not in this session.');
    }
    const before = await listPoured(tx, sessionId);
    const changed = ids.filter((id) => before.has(id) !== poured);
    if (changed.length === 0) return { poured: before.size };
    if (poured) await refuseUnchecked(tx, session, changed);
    const at = deps.clock();
    await insertPourTicks(
      tx,
      changed.map((servingId) => ({ sessionId, servingId, poured, by: actor.id, at })),
    );
    await tellFinishedTrays(tx, sessionId, at);
    return { poured: before.size + (poured ? changed.length : -changed.length) };
  });
  deps.live.nudge(sessionId);
  return answer;
}

/**
 * Tells how many cups stand on finished trays, while none stands half poured. Bottle by bottle, a total that moved with
 * every cup or tray would tell by its steps and their times what stands on a tray, of a single seat above all.
 */
async function tellFinishedTrays(tx: Db, sessionId: string, at: Date): Promise<void> {
  const { cups, half } = await tallyTrays(tx, sessionId);
  if (half || cups === (await lastToldPoured(tx, sessionId))) return;
  await appendEvent(tx, sessionId, { kind: 'poured', cups }, at);
}

/** Cups of a spiked bottle wait until what was measured is confirmed; ticks can always be taken back. */
async function refuseUnchecked(db: Db, session: Session, servingIds: string[]): Promise<void> {
  // One after the other: a transaction has one connection.
  const samples = await listSamples(db, session.id);
  const steps = await listDilutionSteps(db, session.id);
  const wanted = await samplesOfServings(db, session.id, servingIds);
  const waiting = bottlesOf(samples, session.settings).find(
    ({ id, spike, ids }) =>
      spike !== null &&
      [...ids].some((sample) => wanted.has(sample)) &&
      !mayPourDilution(steps.filter(({ sampleId }) => sampleId === id)),
  );
  if (waiting) throw problem('dilution-unchecked');
}
