import {
  countEverPublished,
  emptyVersion,
  findPublication,
  insertPublication,
  insertVersion,
  markWithdrawn,
  type Publication as PublicationRow,
} from '@oddglass/db/queries/publication.ts';
import { listSeats } from '@oddglass/db/queries/seat.ts';
import { countTastings, lockSession } from '@oddglass/db/queries/session.ts';
import { lockTrial, type Trial } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type {
  PublicationViews,
  PublicationView,
  PublishInput,
  PublishNew,
} from '@oddglass/shared/contracts/publishing.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import { onlyHost, trialFor, type PanelInHand } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { problem } from '../../refusal/problem.ts';
import { countWithdrawn } from '../../session-data/session-input.ts';
import { trialRecord } from '../../session-data/trial-record.ts';
import { newAddress } from '../../access/tokens.ts';
import { refusalOf, type Composing, type Kept, type Reading } from '../../freeze/compose.ts';
import type { Frozen } from '../../freeze/freeze.ts';
import { readKept, readViews, viewOf } from './record.ts';
import { readSessions } from './sessions.ts';

/** Where the pages are reached, for links inside frozen files; null when nobody knows. */
export type Origin = string | null;

export async function listPublications(deps: Deps, actor: Actor, trialId: string): Promise<PublicationViews> {
  await trialFor(deps.db, actor, trialId);
  return { publications: await readViews(deps.db, trialId) };
}

export async function publishNew(
  deps: Deps,
  actor: Actor,
  trialId: string,
  { address, listed, ...input }: PublishNew,
  origin: Origin,
): Promise<PublicationView> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  onlyHost(panel);
  const row: PublicationRow = {
    id: randomUuid(deps.random),
    panelId: panel.id,
    trialId,
    address: address ?? newAddress(deps.random),
    listed: listed ?? address !== undefined,
    createdAt: deps.clock(),
    withdrawnAt: null,
  };
  await freeze(deps, { row, trial, panel, input, origin }, async (tx) => {
    if (await insertPublication(tx, row)) return;
    const detail = 'This address is taken. Choose another one.';
    throw problem('address-taken', { detail, errors: [{ pointer: '#/address', detail }] });
  });
  deps.editions.forget();
  return viewOf(deps.db, row);
}

/** A new version beside those that are there. */
export async function publishVersion(
  deps: Deps,
  actor: Actor,
  publicationId: string,
  input: PublishInput,
  origin: Origin,
): Promise<PublicationView> {
  const { row, trial, panel } = await publicationFor(deps, actor, publicationId);
  if (row.withdrawnAt !== null) throw problem('publication-withdrawn');
  await freeze(deps, { row, trial, panel, input, origin }, async (tx) => {
    const now = await findPublication(tx, row.id);
    if (now?.withdrawnAt !== null) throw problem('publication-withdrawn');
  });
  deps.editions.forget();
  return viewOf(deps.db, row);
}

/** Takes a publication back. Its address says from then on that something was here; doing it twice is doing it once. */
export async function withdrawPublication(
  deps: Deps,
  actor: Actor,
  publicationId: string,
): Promise<PublicationView> {
  const { row } = await publicationFor(deps, actor, publicationId);
  await deps.db.transaction(async (tx) => {
    await lockTrial(tx, row.trialId);
    const now = await findPublication(tx, row.id);
    if (now?.withdrawnAt !== null) return;
    await markWithdrawn(tx, row.id, deps.clock());
    for (const kept of await readKept(tx, row.trialId)) {
      if (kept.publicationId === row.id) await emptyVersion(tx, kept, leftOf(kept));
    }
  });
  deps.editions.forget();
  const current = await findPublication(deps.db, row.id);
  return viewOf(deps.db, current ?? row);
}

/** Where a publication of one's own panel is read. */
export async function addressFor(deps: Deps, actor: Actor, publicationId: string): Promise<string> {
  const row = await findPublication(deps.db, publicationId);
  if (!row) throw problem('not-found');
  await trialFor(deps.db, actor, row.trialId);
  return row.address;
}

async function publicationFor(
  deps: Deps,
  actor: Actor,
  publicationId: string,
): Promise<{ row: PublicationRow; trial: Trial; panel: PanelInHand }> {
  const row = await findPublication(deps.db, publicationId);
  if (!row) throw problem('not-found');
  const { trial, panel } = await trialFor(deps.db, actor, row.trialId);
  onlyHost(panel);
  return { row, trial, panel };
}

/** What stays of a withdrawn version, for nobody to read: the totals that no later version may be subtracted from. */
function leftOf({ result, choices }: Kept): Parameters<typeof emptyVersion>[2] {
  const publication = JSON.parse(result) as Publication;
  const { record: _record, forests: _forests, deposit: _deposit, ...told } = publication;
  const { deposit: _asked, ...chosen } = choices;
  const left: Publication = {
    ...told,
    comments: [],
    caveats: [],
    // How it was served may hold words of the host.
    sessions: publication.sessions.map(({ plan: _plan, beside: _beside, serving: _serving, ...session }) => ({
      ...session,
      seal: { ...session.seal, leaves: [] },
      // Caveats hold words of the record.
      parts: session.parts.map((part) => ({ ...part, caveats: [] })),
      orders: [],
      rows: null,
    })),
  };
  return {
    result: JSON.stringify(left),
    choices: {
      ...chosen,
      comments: [],
      caveatAnswers: [],
      record: { include: false, texts: [] },
    },
  };
}

interface Freezing {
  row: PublicationRow;
  trial: Trial;
  panel: PanelInHand;
  input: PublishInput;
  origin: Origin;
}

/** Puts a version together, makes its files, and stores them if nothing moved meanwhile. */
async function freeze(
  deps: Deps,
  { row, trial, panel, input, origin }: Freezing,
  reserve: (tx: Db) => Promise<void>,
): Promise<void> {
  const { trialId } = row;
  const { readings, refusals } = await readSessions(deps.db, {
    trialId,
    panel,
    sessionIds: input.sessionIds,
  });
  if (refusals[0]) throw problem('not-publishable', { detail: refusals[0].detail, errors: refusals });
  const kept = await readKept(deps.db, trialId);
  const earlier = kept.findLast(({ publicationId }) => publicationId === row.id) ?? null;
  const version = (earlier?.version ?? 0) + 1;
  const publishedAt = deps.clock();
  const publishedOn = publishedAt.toISOString().slice(0, 10);
  const tastings = await countTastings(deps.db, trialId);
  const composing: Composing = {
    seed: deps.random.bytes(32),
    draft: input,
    readings,
    record: await trialRecord(deps.db, trial, publishedAt),
    panel: panel.name,
    publishedOn,
    tastings,
    version,
    earlier,
    kept,
  };
  const pageAt = origin === null ? null : `${origin}/p/${row.address}`;
  const frozen = await deps.analyst.freeze(composing, pageAt).catch((reason: unknown) => {
    if (!(reason instanceof PublicationRefused)) throw reason;
    const refused = refusalOf(reason, readings);
    throw problem('not-publishable', { detail: refused.detail, errors: [refused] });
  });
  refuseWhatDiffers(frozen.differs);
  await deps.db.transaction(async (tx) => {
    await refuseMoved(tx, { trialId, readings, kept });
    await reserve(tx);
    await insertVersion(tx, {
      publicationId: row.id,
      version,
      publishedAt,
      publishedOn,
      etag: frozen.etag,
      title: frozen.title,
      panel: frozen.panel,
      headline: frozen.headline,
      licence: frozen.licence,
      demo: frozen.demo,
      choices: choicesKept(input, frozen),
      withdrawn: Object.fromEntries(readings.map((one) => [one.input.session.root, one.withdrawn])),
      result: frozen.result,
      citation: frozen.citation,
      package: frozen.zip,
    });
  });
}

/** What a reader's verifier would object to is not published: above all a plan or a key that is not the sealed one. */
function refuseWhatDiffers(differs: Frozen['differs']): void {
  if (differs.length === 0) return;
  const told = differs.slice(0, 3).map(({ name, found, expected }) => `${name}: ${found}, not ${expected}`);
  const detail =
    `What would be published does not agree with its seal or with its own numbers (${told.join('; ')}).`.slice(
      0,
      900,
    );
  throw problem('not-publishable', { detail, errors: [{ pointer: '#/sessionIds', detail }] });
}

/** Under locks: nobody withdrew and nothing was published of the trial since it was read. */
async function refuseMoved(
  tx: Db,
  { trialId, readings, kept }: { trialId: string; readings: readonly Reading[]; kept: readonly Kept[] },
): Promise<void> {
  await lockTrial(tx, trialId);
  for (const { sessionId, withdrawn } of [...readings].sort((a, b) => (a.sessionId < b.sessionId ? -1 : 1))) {
    await lockSession(tx, sessionId);
    if (countWithdrawn(await listSeats(tx, sessionId)) !== withdrawn) throw problem('publication-moved');
  }
  if ((await countEverPublished(tx, trialId)) !== kept.length) throw problem('publication-moved');
}

/** As much of the host's choices as went into the publication, and nothing else that was sent along. */
function choicesKept(input: PublishInput, { caveats, arms }: Frozen): PublishInput {
  const names = new Set(arms.map(({ id }) => id));
  return {
    ...input,
    armNames: Object.fromEntries(Object.entries(input.armNames).filter(([armId]) => names.has(armId))),
    caveatAnswers: input.caveatAnswers.filter(
      ({ armId, on, text }) =>
        names.has(armId) && caveats.some((caveat) => caveat.on === on && caveat.text === text),
    ),
  };
}
