import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertPoured } from '@oddglass/db/queries/key.ts';
import { insertMembership, insertPanel } from '@oddglass/db/queries/panel.ts';
import { findTray, insertSeating } from '@oddglass/db/queries/seat.ts';
import { insertSession } from '@oddglass/db/queries/session.ts';
import { insertSiteHome } from '@oddglass/db/queries/site.ts';
import { insertTrial } from '@oddglass/db/queries/trial.ts';
import { insertVocabularyChange } from '@oddglass/db/queries/vocabulary.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import { sitePlan, sitePlanFile, type SitePlan } from '@oddglass/shared/contracts/site-file.ts';
import { fieldsNamedBy } from '@oddglass/shared/fermentation/fair-test/fields.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import type { Actor } from '../../access/actor.ts';
import type { Deps } from '../../deps.ts';
import { fieldProblem } from '../../refusal/problem.ts';
import { keyOfCode, opened, readFile, refused } from './site-envelope.ts';

/**
 * Takes the file of a place in: a panel of its own with the arms to pour and the tasting, sealed as it was sealed there. A
 * panel of its own because words, members and bottles of the place belong to nobody else here. Its seats count from 1.
 */
export async function takePlan(
  deps: Deps,
  actor: Actor,
  input: { file: string; code: string },
): Promise<{ session: string; panel: string }> {
  const file = readFile(input.file, sitePlanFile);
  const plan = opened(await keyOfCode(input.code, file.salt), file.sealed, sitePlan);
  if (!plan) throw fieldProblem('#/code', 'This code does not open this file, or the file was changed.');
  if (plan.root !== file.root || plan.guest.site !== file.site) refused('This file was changed.');
  const tray = plan.seats[0]?.trays[0];
  if (!tray || (await findTray(deps.db, tray.id)))
    refused('The seats of this place are on this server already.');
  const panel = randomUuid(deps.random);
  const session = randomUuid(deps.random);
  await deps.db.transaction((tx) => layOut(deps, tx, actor, { plan, panel, session }));
  deps.live.touch(session);
  return { session, panel };
}

async function layOut(
  { random, clock }: Deps,
  tx: Db,
  actor: Actor,
  { plan, panel, session }: { plan: SitePlan; panel: string; session: string },
): Promise<void> {
  const now = clock();
  const { guest, root, trial, vocabulary } = plan;
  await insertPanel(tx, { id: panel, name: panelName(plan), demo: false, createdAt: now });
  await insertMembership(tx, { panelId: panel, accountId: actor.id, role: 'host' });
  for (const [at, change] of vocabulary.changes.entries())
    await insertVocabularyChange(tx, { panelId: panel, version: at + 1, change, by: actor.id, at: now });
  // Bottles here are others than those there, and another place of the same tasting may come to this server too.
  const arms = new Map(plan.arms.map(({ id }) => [id, randomUuid(random)]));
  const samples = new Map(plan.samples.map(({ id }) => [id, randomUuid(random)]));
  const trialId = randomUuid(random);
  await insertTrial(
    tx,
    {
      ...trial,
      base: '',
      id: trialId,
      panelId: panel,
      factorFields: fieldsNamedBy(trial.factor),
      createdAt: now,
    },
    plan.arms.map(({ id, ...arm }, position) => ({
      ...arm,
      id: renamed(arms, id),
      trialId,
      position,
      making: {},
    })),
  );
  await insertSession(tx, {
    id: session,
    panelId: panel,
    trialId,
    state: 'sealed',
    blinding: 'double',
    settings: withArms(plan.settings, arms),
    root,
    trialWords: trial,
    vocabularyVersion: vocabulary.changes.length,
    vocabularyEdition: vocabulary.edition,
    createdAt: now,
    sealedAt: now,
    keyWatched: true,
    guest,
  });
  await layTable(tx, { plan, session, arms, samples });
  await insertSiteHome(tx, {
    sessionId: session,
    secret: plan.secret,
    arms: Object.fromEntries([...arms].map(([there, here]) => [here, there])),
  });
  await appendEvent(tx, session, { kind: 'sealed' }, now);
}

interface Laid {
  plan: SitePlan;
  session: string;
  arms: ReadonlyMap<string, string>;
  samples: ReadonlyMap<string, string>;
}

/** Seats, trays and cups under the ids they were sealed with, and what is in them. */
async function layTable(tx: Db, { plan, session, arms, samples }: Laid): Promise<void> {
  const { firstSeat } = plan.guest;
  const trays = plan.seats.flatMap(({ id, trays: own }) => own.map((tray) => ({ ...tray, seatId: id })));
  const servings = trays.flatMap((tray) => tray.servings.map((one) => ({ ...one, trayId: tray.id })));
  await insertSeating(
    tx,
    plan.seats.map(({ id, seat, spare }) => ({
      id,
      sessionId: session,
      number: seat - firstSeat + 1,
      spare,
    })),
    trays.map(({ id, number, part, replicate, seatId }) => ({
      id,
      sessionId: session,
      seatId,
      number,
      part,
      replicate,
    })),
    // As where it was sealed: in the order of their codes, which says nothing.
    servings
      .map(({ id, trayId, position, code, mark }) => ({
        id,
        sessionId: session,
        trayId,
        position,
        code,
        mark,
      }))
      .sort((a, b) => a.code.localeCompare(b.code) || a.id.localeCompare(b.id)),
  );
  await insertPoured(tx, {
    sessionId: session,
    samples: plan.samples.map((sample) => ({
      ...sample,
      id: renamed(samples, sample.id),
      armId: renamed(arms, sample.armId),
    })),
    servings: servings.map(({ id, sampleId }) => ({
      servingId: id,
      sampleId: renamed(samples, sampleId),
    })),
  });
}

function renamed(ids: ReadonlyMap<string, string>, id: string): string {
  const here = ids.get(id);
  if (here === undefined) refused('This file does not name everything it speaks of.');
  return here;
}

/** The same settings with the ids that the arms have here. */
function withArms(settings: SessionSettings, arms: ReadonlyMap<string, string>): SessionSettings {
  let text = JSON.stringify(settings);
  for (const [there, here] of arms) text = text.replaceAll(there, here);
  return JSON.parse(text) as SessionSettings;
}

/** Named after the place and the panel it tastes for, within what a name may have. */
const panelName = ({ guest }: SitePlan): string => `${guest.name}, for ${guest.panel}`.slice(0, 80).trim();
