import { appendEvent } from '@oddglass/db/queries/event.ts';
import { findEntry, insertEntry, listEntriesOfSeat, type PaperDesk } from '@oddglass/db/queries/paper.ts';
import { listSeats, setConsent, setSlip, takeForPaper, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { DeskBallot, EntryInput, PrintedBallot } from '@oddglass/shared/contracts/paper.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { paperAnswers, type PaperValues } from '@oddglass/shared/paper/answers.ts';
import { readField } from '@oddglass/shared/paper/field.ts';
import { placesOf, type PaperForm } from '@oddglass/shared/paper/form.ts';
import { answerErrors } from '@oddglass/shared/rules/answers.ts';
import { isDeepStrictEqual } from 'node:util';
import { hashToken } from '../../access/tokens.ts';
import { inSession, sessionOrProblem, type Deps } from '../../deps.ts';
import { problem } from '../../refusal/problem.ts';
import { formOfBallot, printedBallotOf, standingOf } from '../../session-data/paper-ballots.ts';
import { sessionAtSeat } from '../../session-data/seat-session.ts';
import { refuseAway } from '../../session-data/sites-away.ts';
import { pinOf, vocabularyOf } from '../../session-data/session-vocabulary.ts';
import { refuseShutDesk } from './desk.service.ts';
import { onTablet } from './print.service.ts';

/** What the digits of a slip are stored as: with their seat, so that two people may choose the same. */
export const slipHashOf = (seatId: string, digits: string): string => hashToken(`slip ${seatId} ${digits}`);

async function seatOf(db: Db, session: Session, number: number): Promise<Seat> {
  const seat = (await listSeats(db, session.id)).find((one) => one.number === number);
  if (!seat) throw problem('not-found', { detail: `There is no seat ${number} in this tasting.` });
  if (seat.withdrawnAt !== null) throw problem('seat-withdrawn');
  if (seat.takenAt !== null && !seat.onPaper) throw onTablet(number);
  return seat;
}

/** A ballot at the desk. What was entered is told where it differs, or is to be corrected; never before a second entry. */
export async function readBallot(deps: Deps, desk: PaperDesk, number: number): Promise<DeskBallot> {
  const session = await sessionOrProblem(deps.db, desk.sessionId);
  refuseShutDesk(session);
  return ballotAt(deps.db, session, number);
}

async function ballotAt(db: Db, session: Session, number: number): Promise<DeskBallot> {
  const seat = await seatOf(db, session, number);
  const vocabulary = await vocabularyOf(db, session.panelId, pinOf(session));
  const ballot = await printedBallotOf(db, session, seat, vocabulary);
  const entries = await listEntriesOfSeat(db, seat.id);
  const standing = standingOf(session, formOfBallot(session, ballot), entries);
  const { differing } = standing;
  return {
    seat: number,
    number: ballot.number,
    state: standing.state,
    due: standing.due,
    session: await sessionAtSeat(db, session),
    trays: ballot.trays,
    words: ballot.words,
    entries: entries.map(({ step, keeper, enteredAt }) => ({ step, keeper, at: enteredAt.toISOString() })),
    differing: differing && {
      ids: differing.ids,
      first: differing.first.values,
      second: differing.second.values,
    },
    counting: standing.counting?.values ?? null,
  };
}

/** Takes an entry in. Sending the same again changes nothing; one that is not due any more is refused. */
export async function enterBallot(
  deps: Deps,
  desk: PaperDesk,
  number: number,
  input: EntryInput,
): Promise<DeskBallot> {
  return inSession(deps, desk.sessionId, async (tx, session) => {
    const known = await findEntry(tx, input.id);
    if (known) {
      const same = known.sessionId === session.id && isDeepStrictEqual(known.values, input.values);
      if (!same)
        throw problem('ballot-differs', { detail: 'This entry was sent before, and said otherwise.' });
      return ballotAt(tx, session, number);
    }
    refuseShutDesk(session);
    await refuseAway(tx, session, number);
    const seat = await seatOf(tx, session, number);
    const vocabulary = await vocabularyOf(tx, session.panelId, pinOf(session));
    const ballot = await printedBallotOf(tx, session, seat, vocabulary);
    const form = formOfBallot(session, ballot);
    const before = await listEntriesOfSeat(tx, seat.id);
    if (standingOf(session, form, before).due !== input.step) throw problem('paper-moved-on');
    const values = refuseWrongEntry({ session, form, ballot, vocabulary, values: input.values });
    const now = deps.clock();
    if (seat.takenAt === null) {
      if (!(await takeForPaper(tx, session.id, number, now))) throw onTablet(number);
      await appendEvent(tx, session.id, { kind: 'seat-on-paper', seat: number }, now);
    }
    const row = {
      id: input.id,
      sessionId: session.id,
      seatId: seat.id,
      deskId: desk.id,
      number: before.length + 1,
      step: input.step,
      values,
      enteredAt: now,
    };
    await insertEntry(tx, row);
    await noteStanding(tx, session, { seat, form, ballot, now });
    return ballotAt(tx, session, number);
  });
}

/** What follows from an entry: the slip leads to the answers, what counts is agreed to, and the board hears how it stands. */
async function noteStanding(
  tx: Db,
  session: Session,
  { seat, form, ballot, now }: { seat: Seat; form: PaperForm; ballot: PrintedBallot; now: Date },
): Promise<void> {
  const entries = await listEntriesOfSeat(tx, seat.id);
  const { state, counting } = standingOf(session, form, entries);
  const newest = (counting ?? entries.at(-1))?.values ?? {};
  const { digits = '' } = newest;
  await setSlip(tx, seat.id, digits === '' ? null : slipHashOf(seat.id, digits));
  if (counting) {
    const { values } = counting;
    const agreed = { rows: values['consent-rows'] === '1', smallGroup: values['consent-few'] === '1' };
    await setConsent(tx, seat.id, agreed, now);
  }
  const answered = counting ? paperAnswers(form, counting.values, ballot.words).length : 0;
  const told = { kind: 'paper-entered' as const, seat: seat.number, standing: state, answered };
  await appendEvent(tx, session.id, told, now);
}

/** The spellings to keep, every place of the ballot among them; a problem at the first place that cannot be read. */
function refuseWrongEntry({
  session,
  form,
  ballot,
  vocabulary,
  values,
}: {
  session: Session;
  form: PaperForm;
  ballot: PrintedBallot;
  vocabulary: Vocabulary;
  values: PaperValues;
}): Record<string, string> {
  const errors: { pointer: string; detail: string }[] = [];
  const kept: Record<string, string> = {};
  for (const field of placesOf(form).flatMap(({ fields }) => fields)) {
    const read = readField(field, values[field.id] ?? '');
    if ('trouble' in read) errors.push({ pointer: `#/values/${field.id}`, detail: read.trouble });
    else kept[field.id] = read.text;
  }
  const strange = Object.keys(values).find(
    (id) => !(id in kept) && errors.every((one) => !one.pointer.endsWith(`/${id}`)),
  );
  if (strange !== undefined) {
    errors.push({ pointer: `#/values/${strange}`, detail: 'There is no such place on this ballot.' });
  }
  const [first] = errors;
  if (first) throw problem('invalid-input', { detail: first.detail, errors });
  refuseWrongAnswers({ session, ballot, vocabulary }, paperAnswers(form, kept, ballot.words));
  return kept;
}

/** What an answer must hold it must hold from paper too. */
function refuseWrongAnswers(
  { session, ballot, vocabulary }: { session: Session; ballot: PrintedBallot; vocabulary: Vocabulary },
  answers: ReturnType<typeof paperAnswers>,
): void {
  for (const { trayId, part: number, sheet: at, answer } of answers) {
    const part = session.settings.parts[number - 1];
    const sheet = ballot.trays
      .find(({ id }) => id === trayId)
      ?.sheets.find((one) => one.part === number && one.sheet === at);
    if (!part || !sheet) throw new Error('a ballot on paper has a sheet that its tray has not');
    const { late, ...rest } = sheet;
    const [trouble] = answerErrors({
      part,
      sheet: { ...rest, ...(late && { late: true as const }) },
      answer,
      knowsWord: (id) => vocabulary.words.some((word) => word.id === id),
      paper: true,
    });
    if (trouble) throw problem('invalid-input', { detail: trouble.detail });
  }
}
