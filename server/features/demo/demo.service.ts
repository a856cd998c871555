import {
  DEMO_DEVIATIONS,
  DEMO_PANEL,
  DEMO_PUBLICATION,
  DEMO_SESSIONS,
  DEMO_TEST,
  DEMO_RECORD,
  DEMO_TRIAL,
  demoConfidence,
  type DemoSession,
} from '@oddglass/db/demo/scenario.ts';
import { DEMO_LIKING, DEMO_PROFILE } from '@oddglass/db/demo/profile.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertPourTicks, listKeyedServings } from '@oddglass/db/queries/key.ts';
import { insertMembership, insertPanel } from '@oddglass/db/queries/panel.ts';
import { findSeatByToken, listTraysOfSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { recordTexts } from '@oddglass/shared/publication/record-texts.ts';
import { inSession, type Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { trialFor } from '../../access/panel-access.ts';
import { hashToken, newJoinCode } from '../../access/tokens.ts';
import { trialRecord } from '../../session-data/trial-record.ts';
import { addAccount } from '../account/account.service.ts';
import { publishNew } from '../publication/publish.service.ts';
import { demoGuest } from '../seat/door.ts';
import { takeSeat } from '../seat/join.service.ts';
import { confirmCautions, giveConsent } from '../seat/seat.service.ts';
import { submitBallot } from '../seat/ballot.service.ts';
import { sealSession } from '../session/seal.service.ts';
import { closeSession, createSession, openSession, revealSession } from '../session/session.service.ts';
import { keepNotebook } from './demo-notebook.ts';
import { noteFit, playLiking, playProfile } from './demo-profile.ts';
import { changeTrial, createTrial, noteDeviation, readTrial } from '../trial/trial.service.ts';

const DAY_MS = 86_400_000;
const SECOND_MS = 1_000;

/** The demo from the command line: a host of its own, whose passphrase is told once. */
export async function createDemoHost(deps: Deps): Promise<{ name: string; passphrase: string }> {
  const name = `demo ${newJoinCode(deps.random).slice(0, 4)}`;
  const passphrase = [newJoinCode(deps.random), newJoinCode(deps.random)].join('-');
  const account = await addAccount(deps, deps.db, name, passphrase);
  await createDemoPanel(deps, account);
  return { name, passphrase };
}

/**
 * Fills a demo panel by playing the invented scenario through the same services that serve people,
 * with a clock that stands in the past for evenings that are over.
 */
export async function createDemoPanel(deps: Deps, account: Pick<Actor, 'id' | 'name'>): Promise<string> {
  // The services ask who acts, not how they signed in.
  const actor: Actor = { ...account, tokenHash: '' };
  const panelId = randomUuid(deps.random);
  await deps.db.transaction(async (tx) => {
    await insertPanel(tx, { id: panelId, name: DEMO_PANEL, demo: true, createdAt: deps.clock() });
    await insertMembership(tx, { panelId, accountId: actor.id, role: 'host' });
  });
  const started = { ...deps, clock: ago(deps, 42) };
  const trial = await createTrial(started, actor, panelId, DEMO_TRIAL);
  await changeTrial(started, actor, trial.id, DEMO_RECORD);
  for (const { arm, daysAgo, note, sign } of DEMO_DEVIATIONS) {
    const clock = ago(deps, daysAgo);
    const on = clock().toISOString().slice(0, 10);
    await noteDeviation({ ...deps, clock }, actor, trial.id, trial.arms[arm]?.id ?? '', { on, note, sign });
  }
  await keepNotebook(deps, actor, trial, ago);
  const played: string[] = [];
  for (const session of DEMO_SESSIONS) played.push(await playSession(deps, actor, trial, session));
  await playProfile({ ...deps, clock: ago(deps, DEMO_PROFILE.daysAgo) }, actor, trial);
  await playLiking({ ...deps, clock: ago(deps, DEMO_LIKING.daysAgo) }, actor, trial);
  await publishDemo(deps, actor, trial.id, played);
  return panelId;
}

/** A clock that started `days` ago and moves on by some seconds at each look. */
function ago(deps: Deps, days: number): () => Date {
  const start = deps.clock().getTime() - days * DAY_MS;
  let looks = 0;
  return () => new Date(start + looks++ * 7 * SECOND_MS);
}

/** One publication, listed, at an address that cannot be guessed, since many demos may lie on one server. */
async function publishDemo(
  deps: Deps,
  actor: Actor,
  trialId: string,
  played: readonly string[],
): Promise<void> {
  const { sessions, daysAgo, title, licence, comments, caveatAnswer } = DEMO_PUBLICATION;
  const { arms } = await readTrial(deps, actor, trialId);
  const { trial } = await trialFor(deps.db, actor, trialId);
  const names = new Map(arms.map(({ id, name }) => [id, name]));
  const record = await trialRecord(deps.db, trial, ago(deps, daysAgo)());
  const input = {
    sessionIds: sessions.map((index) => played[index] ?? ''),
    title,
    licence,
    armNames: Object.fromEntries(arms.map(({ id, name }) => [id, name])),
    comments: [...comments],
    caveatAnswers: arms.flatMap(({ id, deviations }) =>
      deviations.map(({ on, note }) => ({ armId: id, on, text: note, answer: caveatAnswer })),
    ),
    // All of it is invented; notes stay out as they do for others.
    record: {
      include: true,
      texts: recordTexts(record, names).flatMap(({ text, note }) => (note ? [] : [text])),
    },
    agreeSmall: false,
    listed: true,
  };
  await publishNew({ ...deps, clock: ago(deps, daysAgo) }, actor, trialId, input, null);
}

/** Plays an evening and tells its id. */
async function playSession(deps: Deps, actor: Actor, trial: TrialView, scene: DemoSession): Promise<string> {
  const past = { ...deps, clock: scene.daysAgo === null ? deps.clock : ago(deps, scene.daysAgo) };
  const armIds = scene.arms.map((index) => trial.arms[index]?.id ?? '');
  const { id } = await createSession(past, actor, trial.id, {
    ...scene.settings,
    parts: [{ ...DEMO_TEST, armIds, replicates: scene.replicates }],
  });
  await sealSession(past, actor, id);
  await noteFit(past, actor, trial);
  const { join } = await openSession(past, actor, id);
  if (!join) throw new Error('an open session has a way in');
  const odd = await oddCodes(past, id);
  let turn = 0;
  for (const [index, answers] of scene.answers.entries()) {
    const { seatToken } = await takeSeat(past, demoGuest(index + 1), { token: join.token, seat: index + 1 });
    const seat = await findSeatByToken(past.db, hashToken(seatToken));
    if (!seat) throw new Error('the seat was just taken');
    await confirmCautions(past, seat);
    if (scene.consent) await giveConsent(past, seat, scene.consent);
    turn = await answerTrays(past, seat, answers, odd, scene, turn, scene.comments[index] ?? '');
  }
  await pourCups(past, id, scene.answers.length);
  if (scene.daysAgo === null) return id;
  await closeSession(past, actor, id);
  await revealSession(past, actor, id);
  return id;
}

async function answerTrays(
  deps: Deps,
  seat: Seat,
  answers: string,
  odd: Map<string, string>,
  scene: DemoSession,
  firstTurn: number,
  comment: string,
): Promise<number> {
  let turn = firstTurn;
  const trays = await listTraysOfSeat(deps.db, seat.id);
  for (const [index, answer] of [...answers].entries()) {
    const tray = trays[index];
    if (!tray || answer === '-') continue;
    const right = answer === 'r';
    const words = right ? scene.words.right : scene.words.wrong;
    const wrongCup = tray.servings.filter(({ code }) => code !== odd.get(tray.id))[turn % 2];
    await submitBallot(deps, seat, {
      id: randomUuid(deps.random),
      trayId: tray.id,
      part: 1,
      sheet: 1,
      answer: {
        kind: 'choice',
        chosen: [(right ? odd.get(tray.id) : wrongCup?.code) ?? ''],
        confidence: demoConfidence(right, turn),
        descriptors: words[turn % words.length] ?? [],
      },
      comment: index === 0 ? comment : '',
    });
    turn += 1;
  }
  return turn;
}

/** The invented steward has poured for everybody who sits. */
async function pourCups(deps: Deps, sessionId: string, seats: number): Promise<void> {
  const cups = (await listKeyedServings(deps.db, sessionId)).filter(({ seat }) => seat <= seats);
  await inSession(deps, sessionId, async (tx) => {
    const at = deps.clock();
    await insertPourTicks(
      tx,
      cups.map(({ servingId }) => ({ sessionId, servingId, poured: true, by: null, at })),
    );
    await appendEvent(tx, sessionId, { kind: 'poured', cups: cups.length }, at);
  });
}

/** Code of the odd cup by tray: invented palates have to know what they are invented to find. */
async function oddCodes(deps: Deps, sessionId: string): Promise<Map<string, string>> {
  const cups = await listKeyedServings(deps.db, sessionId);
  return new Map(
    [...Map.groupBy(cups, ({ trayId }) => trayId)].map(([trayId, three]) => {
      const cup = three.find(
        ({ sampleId }) => three.filter((other) => other.sampleId === sampleId).length === 1,
      );
      return [trayId, cup?.code ?? ''];
    }),
  );
}
