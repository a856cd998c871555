import { listEntriesBySeat, type KeptEntry } from '@oddglass/db/queries/paper.ts';
import { insertBallot } from '@oddglass/db/queries/ballot.ts';
import { listSeats, listTraysOfSeat, type Seat } from '@oddglass/db/queries/seat.ts';
import type { Session } from '@oddglass/db/queries/session.ts';
import type { Db } from '@oddglass/db/client.ts';
import type { PrintedBallot } from '@oddglass/shared/contracts/paper.ts';
import type { Vocabulary } from '@oddglass/shared/contracts/vocabulary.ts';
import { randomUuid, type RandomSource } from '@oddglass/shared/ground/random.ts';
import { kindOf } from '@oddglass/shared/kinds/kinds.ts';
import { paperAnswers } from '@oddglass/shared/paper/answers.ts';
import { ballotNumber } from '@oddglass/shared/paper/ballot-number.ts';
import { paperForm, type PaperForm } from '@oddglass/shared/paper/form.ts';
import { entryWanted } from '@oddglass/shared/paper/guarded.ts';
import { paperStanding, type Standing } from '@oddglass/shared/paper/standing.ts';
import { sheetsOfTray } from '@oddglass/shared/rules/parts.ts';
import { wordsAtSeat } from './seat-words.ts';
import { pinOf, vocabularyOf } from './session-vocabulary.ts';

/** The ballot of a seat as it is printed: what its tablet would show, without answers. */
export async function printedBallotOf(
  db: Db,
  session: Session,
  seat: Seat,
  vocabulary: Vocabulary,
): Promise<PrintedBallot> {
  const trays = await listTraysOfSeat(db, seat.id);
  return {
    seat: seat.number,
    number: ballotNumber(session.root ?? '', seat.number),
    spare: seat.spare,
    trays: trays.map((tray) => ({
      id: tray.id,
      trayNumber: tray.number,
      part: tray.part,
      warmUp: tray.replicate === 0,
      servings: tray.servings.map(({ id, position, code, mark }) => ({ id, position, code, mark })),
      sheets: sheetsOfTray(session.settings.parts, tray),
    })),
    words: wordsAtSeat(seat, vocabulary),
  };
}

/** The places of a printed ballot. */
export function formOfBallot(
  { settings, smellOnly }: Pick<Session, 'settings' | 'smellOnly'>,
  { trays, words }: Pick<PrintedBallot, 'trays' | 'words'>,
): PaperForm {
  const parts = settings.parts.map((part) => kindOf(part).atSeat(part));
  return paperForm({ parts, trays, words, smellOnly });
}

/** How a ballot stands after these entries, by the settings of its session. */
export const standingOf = (
  { settings }: Pick<Session, 'settings'>,
  form: PaperForm,
  entries: readonly KeptEntry[],
): Standing<KeptEntry> => paperStanding(form, entries, entryWanted(settings));

/**
 * What counts of the ballots on paper becomes ballots like those of tablets. To be called under the session's lock, as it
 * closes and before the answers are sealed: until then a correction is one more entry, from then on nothing changes.
 */
export async function takePaperIn(tx: Db, session: Session, random: RandomSource): Promise<void> {
  const entries = await listEntriesBySeat(tx, session.id);
  if (entries.size === 0) return;
  const vocabulary = await vocabularyOf(tx, session.panelId, pinOf(session));
  const seats = (await listSeats(tx, session.id)).filter(
    ({ id, onPaper, withdrawnAt }) => onPaper && withdrawnAt === null && entries.has(id),
  );
  for (const seat of seats) {
    const ballot = await printedBallotOf(tx, session, seat, vocabulary);
    const form = formOfBallot(session, ballot);
    const { counting } = standingOf(session, form, entries.get(seat.id) ?? []);
    if (!counting) continue;
    for (const answer of paperAnswers(form, counting.values, ballot.words)) {
      await insertBallot(tx, {
        ...answer,
        id: randomUuid(random),
        sessionId: session.id,
        receivedAt: counting.enteredAt,
        paperEntryId: counting.id,
      });
    }
  }
}
