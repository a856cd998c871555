import { appendEvent } from '@oddglass/db/queries/event.ts';
import { listKeyedServings, listSamples, type KeyedServing } from '@oddglass/db/queries/key.ts';
import { findPanel } from '@oddglass/db/queries/panel.ts';
import { listSeats, type Seat } from '@oddglass/db/queries/seat.ts';
import { insertSiteAway, listSitesAway } from '@oddglass/db/queries/site.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { findTrial, listArms } from '@oddglass/db/queries/trial.ts';
import { listVocabularyChanges } from '@oddglass/db/queries/vocabulary.ts';
import type { Db } from '@oddglass/db/client.ts';
import { allergen } from '@oddglass/shared/contracts/common.ts';
import type { SessionSettings } from '@oddglass/shared/contracts/session.ts';
import type { SiteFileMade, SitePlan } from '@oddglass/shared/contracts/site-file.ts';
import { canonicalJson } from '@oddglass/shared/design/canonical-json.ts';
import { mostCups } from '@oddglass/shared/planner/plan-liquid.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { mayAct } from '@oddglass/shared/rules/session.ts';
import { sitesOf, type SiteSeats } from '@oddglass/shared/rules/sites.ts';
import { z } from 'zod';
import { sessionFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import { newSiteCode } from '../../access/tokens.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { noteKeyOpening } from '../../session-data/key-openings.ts';
import { pinOf } from '../../session-data/session-vocabulary.ts';
import { closed, keyOfCode } from './site-envelope.ts';

/**
 * The file with which another server pours and asks at one place. It holds which of its cups is which, so that it is for
 * whoever may pour, counts as opening the key, and opens with a code that is shown once. From then on the seats of the
 * place are taken by no tablet here. Saved again it is the same place with another code.
 */
export async function savePlan(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  site: number,
): Promise<SiteFileMade> {
  const { panel } = await sessionFor(deps.db, actor, sessionId);
  const plan = await inSession(deps, sessionId, async (tx, session) => {
    const run = sitesOf(session.settings).find((one) => one.site === site);
    if (!run) throw problem('not-found', { detail: 'This tasting has no such place.' });
    if (session.rehearsal)
      throw problem('wrong-state', {
        detail: 'A rehearsal is played here: nothing of it goes to another place.',
      });
    if (!mayAct(session, panel.role, 'pour')) throw problem('key-closed');
    if (session.state !== 'sealed' && session.state !== 'open') throw problem('wrong-state');
    const now = deps.clock();
    const seats = (await listSeats(tx, sessionId)).filter(
      ({ number }) => number >= run.first && number <= run.last,
    );
    const known = (await listSitesAway(tx, sessionId)).find((one) => one.site === site);
    if (known?.joinedAt) throw problem('site-ballots-in');
    if (!known && seats.some(({ takenAt }) => takenAt !== null))
      throw problem('wrong-state', { detail: 'Somebody sits at this place here: free the seat first.' });
    await noteKeyOpening(tx, session, actor, now);
    const secret = known?.secret ?? Buffer.from(deps.random.bytes(32)).toString('base64url');
    if (!known) {
      await insertSiteAway(tx, { sessionId, site, secret, by: actor.id, madeAt: now });
      await appendEvent(tx, sessionId, { kind: 'site-away', site }, now);
    }
    return planOf(tx, { session, run, seats, secret });
  });
  deps.security.note('key-read', { account: actor.name, session: sessionId });
  const code = newSiteCode(deps.random);
  const salt = Buffer.from(deps.random.bytes(16)).toString('base64url');
  const { root } = plan;
  const sealed = closed(await keyOfCode(code, salt), plan);
  return {
    name: `place-${site}-${root.slice(0, 12)}.json`,
    file: canonicalJson({ format: 'oddglass-site-plan-1', root, site, salt, sealed }),
    code,
  };
}

async function planOf(
  tx: Db,
  { session, run, seats, secret }: { session: Session; run: SiteSeats; seats: Seat[]; secret: string },
): Promise<SitePlan> {
  const { id, root, settings, panelId, trialId } = session;
  const pin = pinOf(session);
  if (!root || !pin) throw new Error('a sealed session has a root and its words');
  // One after the other: a transaction has one connection.
  const panel = await findPanel(tx, panelId);
  const trial = await findTrial(tx, trialId);
  const arms = await listArms(tx, trialId);
  const samples = await listSamples(tx, id);
  const servings = await listKeyedServings(tx, id);
  const changes = pin.version === 0 ? [] : await listVocabularyChanges(tx, panelId, pin.version);
  const poured = armsOfParts(settings.parts);
  const people = run.last - run.first + 1;
  return {
    guest: {
      session: id,
      panel: panel?.name ?? '',
      site: run.site,
      name: run.name,
      sites: settings.sites?.length ?? 1,
      firstSeat: run.first,
    },
    root,
    secret,
    trial: session.trialWords ?? {
      title: trial?.title ?? '',
      question: trial?.question ?? '',
      factor: trial?.factor ?? '',
    },
    arms: arms
      .filter((arm) => poured.includes(arm.id))
      .map((arm) => ({
        id: arm.id,
        name: arm.name,
        differs: arm.differs,
        abv: arm.abv,
        allergens: z.array(allergen).parse(arm.allergens),
        volumeMl: mostCups(settings.parts, arm.id, people) * settings.cupMl,
      })),
    settings: ofSite(settings, run),
    vocabulary: { edition: pin.edition, changes: changes.map(({ change }) => change) },
    samples: samples.map(({ id: sample, armId, part, place, role, spike, control }) => ({
      id: sample,
      armId,
      part,
      place,
      role,
      spike,
      control,
    })),
    seats: seats.map((seat) => ({
      id: seat.id,
      seat: seat.number,
      spare: seat.spare,
      trays: traysOf(servings.filter(({ seatId }) => seatId === seat.id)),
    })),
  };
}

/** The settings as they are for one place: its people, and no other place. */
function ofSite({ sites: _, ...settings }: SessionSettings, run: SiteSeats): SessionSettings {
  return {
    ...settings,
    assessors: run.assessors,
    spareSeats: run.last - run.first + 1 - run.assessors,
  };
}

function traysOf(cups: readonly KeyedServing[]): SitePlan['seats'][number]['trays'] {
  return [...Map.groupBy(cups, ({ trayId }) => trayId)]
    .map(([id, own]) => {
      const [{ trayNumber: number, part, replicate }] = own as [KeyedServing];
      return {
        id,
        number,
        part,
        replicate,
        servings: own
          .map(({ servingId, position, code, mark, sampleId }) => ({
            id: servingId,
            position,
            code,
            mark,
            sampleId,
          }))
          .sort((a, b) => a.position - b.position),
      };
    })
    .sort((a, b) => a.number - b.number);
}
