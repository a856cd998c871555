import {
  DEMO_ATTRIBUTES,
  DEMO_LIKING,
  DEMO_PROFILE,
  DEMO_WORDS,
  demoLiking,
  demoMark,
  demoWords,
} from '@oddglass/db/demo/profile.ts';
import { DEMO_SAFETY } from '@oddglass/db/demo/scenario.ts';
import { listKeyedServings } from '@oddglass/db/queries/key.ts';
import { findSeatByToken, listTraysOfSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { hashToken } from '../../access/tokens.ts';
import { demoGuest } from '../seat/door.ts';
import { takeSeat } from '../seat/join.service.ts';
import { confirmCautions } from '../seat/seat.service.ts';
import { submitBallot } from '../seat/ballot.service.ts';
import { sealSession } from '../session/seal.service.ts';
import { noteSafety } from '../trial/safety.service.ts';
import { closeSession, createSession, openSession, revealSession } from '../session/session.service.ts';

type Answers = (
  kind: Part['kind'],
  cup: { arm: number; seat: number; position: number; code: string },
) => Answer;

/** Rating and description of the same cups: three arms, one of them twice; and, on another evening, liking alone. */
function partsOf(trial: TrialView): { profile: Part[]; liking: Part[] } {
  const flight = { replicates: 1, cupsEach: null, alpha: 0.05 };
  const sample = (armId: string, role: 'sample' | 'duplicate') => ({ armId, role, spike: null });
  const samples = trial.arms.map(({ id }) => sample(id, 'sample'));
  const twice = sample(trial.arms[DEMO_PROFILE.duplicate]?.id ?? '', 'duplicate');
  return {
    profile: [
      {
        kind: 'rating',
        ...flight,
        cups: 'own',
        samples: [...samples, twice],
        attributes: DEMO_ATTRIBUTES,
        scale: 'line',
        by: 'sample',
        returning: false,
      },
      {
        kind: 'description',
        ...flight,
        cups: 'before',
        samples: [],
        words: [...DEMO_WORDS],
        intensity: false,
      },
    ],
    liking: [{ kind: 'liking', ...flight, cups: 'own', samples }],
  };
}

const answers: Answers = (kind, { arm, seat, position, code }) => {
  if (kind === 'liking') return demoLiking(arm, seat, position);
  if (kind === 'description') return demoWords(arm, seat, position);
  return {
    kind: 'rating',
    marks: DEMO_ATTRIBUTES.map(({ id: attributeId }, at) => ({
      code,
      attributeId,
      value: demoMark(arm, at, seat, position),
    })),
  };
};

/** Before an evening the invented host looks at every arm. */
export async function noteFit(deps: Deps, actor: Actor, trial: TrialView): Promise<void> {
  for (const { id } of trial.arms) await noteSafety(deps, actor, trial.id, id, DEMO_SAFETY);
}

/** The evening of the demo in which the beers were rated and described. */
export function playProfile(deps: Deps, actor: Actor, trial: TrialView): Promise<void> {
  return play(deps, actor, trial, DEMO_PROFILE, partsOf(trial).profile);
}

/** The evening in which others said how well they liked them. */
export function playLiking(deps: Deps, actor: Actor, trial: TrialView): Promise<void> {
  return play(deps, actor, trial, DEMO_LIKING, partsOf(trial).liking);
}

async function play(
  deps: Deps,
  actor: Actor,
  trial: TrialView,
  { settings, seats }: { settings: Omit<SessionSettings, 'parts'>; seats: number },
  parts: Part[],
): Promise<void> {
  const { id } = await createSession(deps, actor, trial.id, { ...settings, parts });
  await sealSession(deps, actor, id);
  await noteFit(deps, actor, trial);
  const { join } = await openSession(deps, actor, id);
  if (!join) throw new Error('an open session has a way in');
  const arms = new Map(
    (await listKeyedServings(deps.db, id)).map(({ trayId, code, armId }) => [
      `${trayId} ${code}`,
      trial.arms.findIndex((arm) => arm.id === armId),
    ]),
  );
  for (let number = 1; number <= seats; number++) {
    const { seatToken } = await takeSeat(deps, demoGuest(number), { token: join.token, seat: number });
    const seat = await findSeatByToken(deps.db, hashToken(seatToken));
    if (!seat) throw new Error('the seat was just taken');
    await confirmCautions(deps, seat);
    await answerSeat(deps, seat, parts, arms);
  }
  await closeSession(deps, actor, id);
  await revealSession(deps, actor, id);
}

async function answerSeat(
  deps: Deps,
  seat: Seat,
  parts: readonly Part[],
  arms: ReadonlyMap<string, number>,
): Promise<void> {
  for (const tray of await listTraysOfSeat(deps.db, seat.id)) {
    for (const { part, sheet, codes } of sheetsOfTray(parts, tray)) {
      const [code = ''] = codes;
      const position = tray.servings.find((serving) => serving.code === code)?.position ?? 1;
      const arm = arms.get(`${tray.id} ${code}`) ?? 0;
      const kind = parts[part - 1]?.kind ?? 'rating';
      const answer = answers(kind, { arm, seat: seat.number, position, code });
      await submitBallot(deps, seat, {
        id: randomUuid(deps.random),
        trayId: tray.id,
        part,
        sheet,
        answer,
        comment: '',
      });
    }
  }
}
