import { listBallots, listBallotsOfSeat } from '@oddglass/db/queries/ballot.ts';
import {
  listDilutionSteps,
  listKeyedServings,
  listSamples,
  listSealLeaves,
  newestServingNotes,
} from '@oddglass/db/queries/key.ts';
import { listSitesAway, type SiteAway } from '@oddglass/db/queries/site.ts';
import { listKeyOpenings } from '@oddglass/db/queries/key-opening.ts';
import type { Panel } from '@oddglass/db/queries/panel.ts';
import { listSeats, listTraysOfSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import { findTrial, listArms } from '@oddglass/db/queries/trial.ts';
import { listDeviations } from '@oddglass/db/queries/deviation.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { AnsweredTray, SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import type { AtReveal } from '@oddglass/shared/contracts/reveal-record.ts';
import type { KeyReaders } from '@oddglass/shared/contracts/result-common.ts';
import type { TidyInput } from '@oddglass/shared/export/tidy.ts';
import { fingerprint } from '@oddglass/shared/design/seal.ts';
import { entryWanted } from '@oddglass/shared/paper/guarded.ts';
import type { PublishableSession } from '@oddglass/shared/publication/assemble-choices.ts';
import { allergen } from '@oddglass/shared/contracts/common.ts';
import type { ServingConditions } from '@oddglass/shared/contracts/pour.ts';
import { tableAllergens } from '@oddglass/shared/rules/allergens.ts';
import { dilutionCheck } from '@oddglass/shared/rules/dilution.ts';
import { armsOfParts } from '@oddglass/shared/rules/parts.ts';
import { siteOfSeat, sitesOf } from '@oddglass/shared/rules/sites.ts';
import { wavesOf } from '@oddglass/shared/rules/waves.ts';
import { z } from 'zod';
import { problem } from '../refusal/problem.ts';
import { answersToday } from './answer-seal.ts';
import { fairTestInput } from './fair-test.ts';
import { namedSamples } from './sample-names.ts';
import { pinOf, vocabularyOf } from './session-vocabulary.ts';

type SeatTray = Awaited<ReturnType<typeof listTraysOfSeat>>[number];

/** All that was answered in a revealed session by people who did not take it back. */
export interface Answers {
  input: SessionInput;
  /** Label in `input` by id of the seat. */
  labels: ReadonlyMap<string, string>;
  /** Taken seats whose answers count. */
  seats: Seat[];
  withdrawn: number;
  /** What was found at the reveal; null where it was revealed before that was kept. */
  atReveal: AtReveal | null;
  /** Seats under the seal of all answers; null where there is none. */
  answersSize: number | null;
}

/** All that the analysis of a revealed session stands on; a problem before the reveal. */
export async function readAnswers(db: Db, session: Session, panel: Pick<Panel, 'demo'>): Promise<Answers> {
  if (session.state !== 'revealed' || !session.revealedAt) throw problem('not-revealed');
  return readAsRevealed(db, session, panel, session.revealedAt);
}

/** The same as if it were revealed at `now`: for the record that the reveal itself writes, and for nothing else. */
export async function readToReveal(
  db: Db,
  session: Session,
  panel: Pick<Panel, 'demo'>,
  now: Date,
): Promise<Answers> {
  if (session.state !== 'closed') throw problem('wrong-state');
  return readAsRevealed(db, session, panel, now);
}

async function readAsRevealed(
  db: Db,
  session: Session,
  panel: Pick<Panel, 'demo'>,
  revealedAt: Date,
): Promise<Answers> {
  const { settings, root } = session;
  if (!root) throw problem('not-revealed');
  const [trial, arms, servings, samples, ballots, vocabulary, noted, all, steps, openings, sealed, away] =
    await Promise.all([
      findTrial(db, session.trialId),
      listArms(db, session.trialId),
      listKeyedServings(db, session.id),
      listSamples(db, session.id),
      listBallots(db, session.id),
      vocabularyOf(db, session.panelId, pinOf(session)),
      newestServingNotes(db, session.id),
      listSeats(db, session.id),
      listDilutionSteps(db, session.id),
      listKeyOpenings(db, session.id),
      answersToday(db, session),
      settings.sites ? listSitesAway(db, session.id) : [],
    ]);
  const seats = all.filter(({ takenAt, withdrawnAt }) => takenAt !== null && withdrawnAt === null);
  const labels = labelsOf(seats);
  const armIds = armsOfParts(settings.parts);
  const named = namedSamples(samples);
  const families = new Map(vocabulary.families.map(({ id, name }) => [id, name]));
  const input: SessionInput = {
    session: {
      title: settings.title,
      // As they were sealed, whatever was corrected since.
      trialTitle: session.trialWords?.title ?? trial?.title ?? '',
      question: session.trialWords?.question ?? trial?.question ?? '',
      factor: session.trialWords?.factor ?? trial?.factor ?? '',
      demo: panel.demo,
      ...(session.rehearsal && { rehearsal: true as const }),
      // In the order in which the plan names them.
      arms: armIds.flatMap((armId) => {
        const arm = arms.find(({ id }) => id === armId);
        return arm ? [{ id: arm.id, name: arm.name, differs: arm.differs }] : [];
      }),
      smellOnly: session.smellOnly,
      stopped: session.stoppedAt !== null,
      handedOver: seats.reduce((sum, { holder }) => sum + holder, 0),
      ...sittingFacts(session, seats, servings, ballots, away),
      ...keyFacts(session, panel, openings, away),
      ...servedAt(session, noted, away),
      fingerprint: fingerprint(root),
      root,
      ...(sealed && { answersRoot: sealed.root, answersIntact: sealed.intact }),
      revealedAt: revealedAt.toISOString(),
      assessors: settings.assessors,
      cupMl: settings.cupMl,
      restSeconds: settings.restSeconds,
    },
    settings,
    samples: named.map(({ id: _id, ...facts }) => facts),
    trays: answeredTrays(servings, ballots, named, labels).map(atSite(settings)),
    deviations: notedOf(await listDeviations(db, armIds), revealedAt),
    ...(trial && { fairTest: await fairTestInput(db, trial, arms) }),
    dilutions: dilutionsOf(samples, steps),
    allergens: tableAllergens(
      settings.parts,
      arms.map((arm) => ({ id: arm.id, allergens: z.array(allergen).parse(arm.allergens) })),
    ),
    words: vocabulary.words.map(({ id, word, family }) => [id, { word, family: families.get(family) ?? '' }]),
  };
  const withdrawn = countWithdrawn(all);
  const record = session.revealRecord;
  const atReveal = record && { parts: record.parts, withdrawnSince: withdrawn - record.withdrawn };
  return { input, labels, seats, withdrawn, atReveal, answersSize: sealed?.size ?? null };
}

/** How people sat and answered: on paper, and in waves. */
const sittingFacts = (...all: Parameters<typeof paperFacts>) => ({
  ...paperFacts(...all),
  ...wavesFacts(all[0]),
});

/** In how many waves people tasted; nothing where one was called, or all sat down at once. */
function wavesFacts({ settings, wave }: Session): Pick<SessionInput['session'], 'waves'> {
  const waves = wavesOf(settings, wave);
  if (waves === null || waves.called < 2) return {};
  return { waves: { called: waves.called, seatsAtOnce: waves.seatsAtOnce } };
}

/** How many people's answers came from paper; nothing where none did. */
function paperFacts(
  { settings }: Session,
  seats: readonly Seat[],
  servings: Awaited<ReturnType<typeof listKeyedServings>>,
  ballots: Awaited<ReturnType<typeof listBallots>>,
  away: readonly SiteAway[],
): Pick<SessionInput['session'], 'paper'> {
  const fromPaper = new Set(
    ballots.flatMap((ballot) => (ballot.paperEntryId === null ? [] : [ballot.trayId])),
  );
  const counted = new Set(servings.filter(({ trayId }) => fromPaper.has(trayId)).map(({ seatId }) => seatId));
  const brought = away.reduce((sum, { facts }) => sum + (facts?.paperSeats ?? 0), 0);
  const count = seats.filter(({ id }) => counted.has(id)).length + brought;
  return count === 0 ? {} : { paper: { ballots: count, entered: entryWanted(settings) } };
}

/** Who could know: here and at places with a server of their own. At one of them is enough for a tasting that is single-blind. */
function keyFacts(
  { blinding, keyWatched }: Session,
  panel: Pick<Panel, 'demo'>,
  openings: Awaited<ReturnType<typeof listKeyOpenings>>,
  away: readonly SiteAway[],
): Pick<SessionInput['session'], 'blinding' | 'keyReaders'> {
  const own = keyReadersOf(openings);
  const facts = away.flatMap(({ facts: one }) => (one ? [one] : []));
  const sum = (of: keyof KeyReaders) => facts.reduce((all, { keyReaders }) => all + keyReaders[of], own[of]);
  return {
    blinding: facts.some((one) => one.blinding === 'single') ? 'single' : blinding,
    // In a demo nobody poured.
    ...(keyWatched && !panel.demo && { keyReaders: { accounts: sum('accounts'), invited: sum('invited') } }),
  };
}

/** How it was served: what was noted of the one place, or of each. */
function servedAt(
  { settings, smellOnly }: Session,
  noted: readonly ServingConditions[],
  away: readonly SiteAway[],
): Pick<SessionInput['session'], 'conditions' | 'sites'> {
  const conditions = noted.find(({ site }) => site === undefined);
  const sites = sitesOf(settings).map(({ site, name }) => {
    const other = away.find((one) => one.site === site);
    const here = noted.find((one) => one.site === site);
    return {
      name,
      standing: other ? (other.joinedAt ? ('joined' as const) : ('elsewhere' as const)) : ('here' as const),
      smellOnly: other?.facts?.smellOnly ?? smellOnly,
      ...(here && { conditions: here }),
    };
  });
  return { ...(conditions && { conditions }), ...(sites.length > 0 && { sites }) };
}

/** A tray with its place, where there are several. */
const atSite =
  (settings: Session['settings']) =>
  ({ seat, ...tray }: AnsweredTray & { seat: number }): AnsweredTray => {
    const site = siteOfSeat(settings, seat);
    return site === null ? tray : { ...tray, site };
  };

/** Notes of the arms; those written after the reveal, whatever day they are dated to, with the day of writing. */
function notedOf(
  deviations: Awaited<ReturnType<typeof listDeviations>>,
  revealedAt: Date,
): SessionInput['deviations'] {
  return deviations.map(({ armId, on, note, writtenAt }) => ({
    armId,
    on,
    note,
    ...(new Date(writtenAt) > revealedAt && { notedAfterReveal: writtenAt.slice(0, 10) }),
  }));
}

/** How many accounts opened the key before the reveal; nobody's name. */
function keyReadersOf(openings: Awaited<ReturnType<typeof listKeyOpenings>>): KeyReaders {
  const invited = openings.filter(({ invitedSinceSealing }) => invitedSinceSealing);
  return { accounts: openings.length, invited: invited.length };
}

/** How each spiked bottle was checked, for each part it was poured for. Records name a bottle by its first sample. */
function dilutionsOf(
  samples: Awaited<ReturnType<typeof listSamples>>,
  steps: Awaited<ReturnType<typeof listDilutionSteps>>,
): NonNullable<SessionInput['dilutions']> {
  const spiked = samples.filter(({ spike }) => spike !== null);
  const bottles = Map.groupBy(spiked, ({ armId, spike }) => `${armId} ${spike ?? ''}`);
  return [...bottles.values()].flatMap((same) => {
    const ids = new Set(same.map(({ id }) => id));
    const check = dilutionCheck(steps.filter(({ sampleId }) => ids.has(sampleId)));
    return [...new Set(same.map(({ part }) => part))].map((part) => ({ part, check }));
  });
}

/** People whose answers were taken back; a seat without answers changes nothing by leaving. */
export function countWithdrawn(seats: readonly Seat[]): number {
  return seats.filter(({ withdrawnBallots }) => (withdrawnBallots ?? 0) > 0).length;
}

/** The same with what publishing needs beyond: the whole seal, and who agreed to what. */
export async function readPublishable(
  db: Db,
  session: Session,
  panel: Pick<Panel, 'demo'>,
): Promise<PublishableSession> {
  const { input, labels, seats, withdrawn, atReveal, answersSize } = await readAnswers(db, session, panel);
  return {
    input,
    ...(atReveal && { atReveal }),
    ...(answersSize !== null && { answersSize }),
    leaves: await listSealLeaves(db, session.id),
    offered: await offeredWords(db, session),
    consents: new Map(
      seats.map((seat) => [
        labels.get(seat.id) ?? '',
        { rows: seat.consentRows ?? false, smallGroup: seat.consentSmallGroup ?? false },
      ]),
    ),
    withdrawn,
  };
}

/** Words of the vocabulary that the session was asked with, as they are told at a seat. */
async function offeredWords(db: Db, session: Session): Promise<NonNullable<PublishableSession['offered']>> {
  const { words, families } = await vocabularyOf(db, session.panelId, pinOf(session));
  const named = new Map(families.map(({ id, name }) => [id, name]));
  return words.map(({ id, word, family, definition }) => ({
    id,
    word,
    family: named.get(family) ?? '',
    definition,
  }));
}

/**
 * What one seat answered, for the person who sat there. Before the reveal no sample and no arm is named, and the key is
 * not looked at.
 */
export async function readOwnAnswers(
  db: Db,
  session: Session,
  seat: Seat,
): Promise<{ input: TidyInput; trays: SeatTray[] }> {
  const trays = await listTraysOfSeat(db, seat.id);
  if (session.state === 'revealed' && seat.withdrawnAt === null) {
    const { input, labels } = await readAnswers(db, session, { demo: false });
    const own = labels.get(seat.id);
    return { input: { ...input, trays: input.trays.filter(({ assessor }) => assessor === own) }, trays };
  }
  const [ballots, vocabulary] = await Promise.all([
    listBallotsOfSeat(db, seat.id),
    vocabularyOf(db, session.panelId, pinOf(session)),
  ]);
  const input: TidyInput = {
    session: { arms: [] },
    settings: session.settings,
    samples: [],
    trays: trays.map(({ id, part, replicate, servings }) => ({
      assessor: 'a1',
      part,
      replicate,
      cups: servings.map(({ code, position, mark }) => ({ code, position, mark, sample: '', armId: '' })),
      ballots: ballots.filter(({ trayId }) => trayId === id),
    })),
    words: vocabulary.words.map(({ id, word, family }) => [id, { word, family }]),
  };
  return { input, trays };
}

/** Seat ids are random, so their order says nothing about seats. */
function labelsOf(seats: readonly Seat[]): Map<string, string> {
  const ids = seats.map(({ id }) => id).sort();
  return new Map(ids.map((id, index) => [id, `a${index + 1}`]));
}

function answeredTrays(
  servings: Awaited<ReturnType<typeof listKeyedServings>>,
  ballots: Awaited<ReturnType<typeof listBallots>>,
  samples: ReturnType<typeof namedSamples>,
  labels: ReadonlyMap<string, string>,
): (AnsweredTray & { seat: number })[] {
  const keys = new Map(samples.map(({ id, key }) => [id, key]));
  // The 0th tray of a seat is there to get used to the cups: nothing of it reaches a result.
  const taken = servings.filter(({ seatId, replicate }) => labels.has(seatId) && replicate > 0);
  const byTray = Map.groupBy(ballots, ({ trayId }) => trayId);
  return [...Map.groupBy(taken, ({ trayId }) => trayId).entries()].map(([trayId, cups]) => {
    const [{ seatId, seat, part, replicate }] = cups as [(typeof cups)[number]];
    const told = (byTray.get(trayId) ?? []).find(({ swallowing }) => swallowing !== null)?.swallowing;
    return {
      ...(told && { swallowing: told }),
      seat,
      assessor: labels.get(seatId) ?? '',
      part,
      replicate,
      cups: cups
        .map(({ code, position, mark, sampleId, armId }) => ({
          code,
          position,
          mark,
          sample: keys.get(sampleId) ?? '',
          armId,
        }))
        .sort((a, b) => a.position - b.position),
      ballots: (byTray.get(trayId) ?? []).map((ballot) => ({
        part: ballot.part,
        sheet: ballot.sheet,
        answer: ballot.answer,
        comment: ballot.comment,
      })),
    };
  });
}
