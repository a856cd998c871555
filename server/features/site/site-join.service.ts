import { createHash } from 'node:crypto';
import { insertBallot } from '@oddglass/db/queries/ballot.ts';
import { insertDeviation } from '@oddglass/db/queries/deviation.ts';
import { appendEvent } from '@oddglass/db/queries/event.ts';
import { insertServingNote } from '@oddglass/db/queries/key.ts';
import { listSeats, listTraysOfSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import { joinSite, listSitesAway, takeForSite } from '@oddglass/db/queries/site.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { listArms } from '@oddglass/db/queries/trial.ts';
import type { Db } from '@oddglass/db/client.ts';
import {
  siteBallots,
  siteBallotsFile,
  type SiteBallot,
  type SiteBallots,
  type SiteBallotsFile,
  type SiteTaken,
} from '@oddglass/shared/contracts/site-file.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { randomUuid } from '@oddglass/shared/ground/random.ts';
import { answerErrors } from '@oddglass/shared/rules/answers.ts';
import { armsOfParts, sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { sitesOf } from '@oddglass/shared/rules/sites.ts';
import { sessionFor } from '../../access/panel-access.ts';
import type { Actor } from '../../access/actor.ts';
import { inSession, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { pinOf, vocabularyOf } from '../../session-data/session-vocabulary.ts';
import { macOf, opened, readFile, refused, sameMac } from './site-envelope.ts';

/**
 * Joins the ballots of a place, once and only once: all of a file or, where anything of it is not as it left, nothing. The
 * very same evening brought again changes nothing and is told as being here; another one of the same place is refused.
 */
export async function joinBallots(
  deps: Deps,
  actor: Actor,
  sessionId: string,
  text: string,
): Promise<SiteTaken> {
  await sessionFor(deps.db, actor, sessionId);
  const file = readFile(text, siteBallotsFile);
  return inSession(deps, sessionId, async (tx, session) => {
    const { evening, joinedDigest } = await openedFor(tx, session, file);
    const digest = createHash('sha256').update(text).digest('hex');
    const told = (already: boolean): SiteTaken => ({
      site: evening.site,
      name: sitesOf(session.settings).find(({ site }) => site === evening.site)?.name ?? '',
      people: evening.seats.filter(({ ballots }) => ballots.length > 0).length,
      ballots: evening.seats.reduce((sum, { ballots }) => sum + ballots.length, 0),
      already,
    });
    if (joinedDigest === digest) return told(true);
    if (joinedDigest !== null) throw problem('site-ballots-in');
    if (session.state !== 'open') {
      throw problem('wrong-state', {
        detail:
          'Ballots of a place are joined while the tasting is open here: after it is closed no answer is added.',
      });
    }
    await takeIn(deps, tx, session, evening, digest);
    return told(false);
  });
}

/** The evening in a file, once it is known to come from this session, its root and its place, and to be unchanged. */
async function openedFor(
  tx: Db,
  session: Session,
  file: SiteBallotsFile,
): Promise<{ evening: SiteBallots; joinedDigest: string | null }> {
  if (file.session !== session.id) refused('These ballots belong to another tasting.');
  if (file.root !== session.root) refused('These ballots belong to another seal.');
  const away = (await listSitesAway(tx, session.id)).find(({ site }) => site === file.site);
  if (!away) refused('No file of this place was made here.');
  const secret = Buffer.from(away.secret, 'base64url');
  const { mac, ...readable } = file;
  if (!sameMac(mac, macOf(secret, readable))) refused('This file was changed since it was saved.');
  const evening = opened(secret, file.sealed, siteBallots);
  const same = evening?.session === file.session && evening.root === file.root && evening.site === file.site;
  if (!evening || !same) refused('This file was changed since it was saved.');
  return { evening, joinedDigest: away.digest };
}

async function takeIn(
  deps: Deps,
  tx: Db,
  session: Session,
  evening: SiteBallots,
  digest: string,
): Promise<void> {
  const now = deps.clock();
  const run = sitesOf(session.settings).find(({ site }) => site === evening.site);
  if (!run) refused('This tasting has no such place.');
  const vocabulary = await vocabularyOf(tx, session.panelId, pinOf(session));
  const seats = new Map((await listSeats(tx, session.id)).map((seat) => [seat.number, seat]));
  for (const brought of evening.seats) {
    const seat = seats.get(brought.seat);
    if (!seat || brought.seat < run.first || brought.seat > run.last)
      refused(`Seat ${brought.seat} is not of this place.`);
    await takeSeat(tx, { session, seat, brought, vocabulary });
  }
  const { smellOnly, stopped, blinding, keyReaders, openedAt, closedAt } = evening;
  const joined = await joinSite(tx, {
    sessionId: session.id,
    site: evening.site,
    joinedAt: now,
    digest,
    facts: {
      openedAt,
      closedAt,
      smellOnly,
      stopped,
      blinding,
      keyReaders,
      paperSeats: evening.seats.filter(({ ballots }) => ballots.some(({ paper }) => paper)).length,
    },
  });
  if (!joined) throw problem('site-ballots-in');
  await noteAround(deps, tx, session, evening);
  await appendEvent(
    tx,
    session.id,
    {
      kind: 'site-joined',
      site: evening.site,
      seats: evening.seats.map(({ seat, ballots }) => ({ seat, answered: ballots.length })),
    },
    now,
  );
}

interface Brought {
  session: Session;
  seat: Seat;
  brought: SiteBallots['seats'][number];
  vocabulary: Vocabulary;
}

async function takeSeat(tx: Db, { session, seat, brought, vocabulary }: Brought): Promise<void> {
  const date = (moment: string | null): Date | null => (moment === null ? null : new Date(moment));
  const { consent, withdrawn } = brought;
  const taken = await takeForSite(tx, seat.id, {
    takenAt: new Date(brought.takenAt),
    cautionsConfirmedAt: date(brought.cautionsConfirmedAt),
    onPaper: brought.onPaper,
    holder: brought.holder,
    consentRows: consent?.rows ?? null,
    consentSmallGroup: consent?.smallGroup ?? null,
    consentAt: date(brought.consentAt),
    receiptHash: brought.receiptHash,
    slipHash: brought.slipHash,
    withdrawnAt: date(withdrawn?.at ?? null),
    withdrawnBallots: withdrawn?.ballots ?? null,
  });
  if (!taken) refused(`Somebody sits at seat ${seat.number} here.`);
  const trays = new Map((await listTraysOfSeat(tx, seat.id)).map((tray) => [tray.id, tray]));
  for (const ballot of brought.ballots) {
    const tray = trays.get(ballot.trayId);
    const cups = tray?.servings.map(({ id }) => id);
    if (!tray || cups?.join() !== ballot.servings.join())
      refused(`A ballot of seat ${seat.number} is about other cups than were sealed.`);
    refuseWrong(session, tray, ballot, vocabulary);
    const { servings: _cups, paper: _paper, receivedAt, ...said } = ballot;
    const row = { ...said, sessionId: session.id, receivedAt: new Date(receivedAt) };
    if (!(await insertBallot(tx, row))) refused(`A ballot of seat ${seat.number} is here already.`);
  }
}

/** What a tablet would not have been let answer does not come by a file either. */
function refuseWrong(
  { settings }: Session,
  tray: Parameters<typeof sheetsOfTray>[1],
  ballot: SiteBallot,
  vocabulary: Vocabulary,
): void {
  const part = settings.parts[ballot.part - 1];
  const sheet = sheetsOfTray(settings.parts, tray).find(
    (one) => one.part === ballot.part && one.sheet === ballot.sheet,
  );
  if (!part || !sheet) refused('A ballot answers a sheet that was not asked.');
  const knowsWord = (id: string): boolean => vocabulary.words.some((word) => word.id === id);
  const [wrong] = answerErrors({ part, sheet, answer: ballot.answer, knowsWord });
  if (wrong) refused(`A ballot does not fit its sheet: ${wrong.detail}`);
}

/** What was noted at the place goes where it is noted of this one: only ever added. */
async function noteAround(
  { random, clock }: Deps,
  tx: Db,
  session: Session,
  { site, conditions, deviations }: SiteBallots,
): Promise<void> {
  if (conditions) {
    await insertServingNote(tx, {
      sessionId: session.id,
      conditions: { ...conditions, site },
      by: null,
      at: clock(),
    });
  }
  const own = new Set((await listArms(tx, session.trialId)).map(({ id }) => id));
  const poured = armsOfParts(session.settings.parts);
  for (const { armId, on, note, sign, writtenAt } of deviations) {
    if (!own.has(armId) || !poured.includes(armId)) refused('A note is about an arm that is not poured.');
    await insertDeviation(tx, {
      id: randomUuid(random),
      armId,
      on,
      note: `At place ${site}: ${note}`,
      sign,
      writtenBy: null,
      writtenAt: new Date(writtenAt),
    });
  }
}
