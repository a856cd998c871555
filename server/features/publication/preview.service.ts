import { countTastings } from '@oddglass/db/queries/session.ts';
import { findPublication } from '@oddglass/db/queries/publication.ts';
import { listMembers } from '@oddglass/db/queries/panel.ts';
import { depositInput, type DepositInput } from '@oddglass/shared/contracts/deposit.ts';
import type { PublishDraft, PublishPreview, Refusal } from '@oddglass/shared/contracts/publishing.ts';
import { linesOf, peopleOf } from '@oddglass/shared/publication/assemble-choices.ts';
import { scanComment } from '@oddglass/shared/publication/comments.ts';
import { PublicationRefused, tierOf } from '@oddglass/shared/publication/disclosure.ts';
import {
  flagsOf,
  isPassable,
  recordTexts,
  type RecordText,
  type TrialRecord,
} from '@oddglass/shared/publication/record-texts.ts';
import { trialRecord } from '../../session-data/trial-record.ts';
import { onlyHost, trialFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { problem } from '../../refusal/problem.ts';
import { armsOf, refusalOf, type Composing, type Reading } from '../../freeze/compose.ts';
import { readKept } from './record.ts';
import { readSessions } from './sessions.ts';

const NOT_ANSWERED = '(not answered yet)';

/** The preview, with what readers would get as text of JSON: it is large, and checked and written where it is made. */
export interface PreviewMade extends Omit<PublishPreview, 'publication'> {
  publication: string | null;
}

/**
 * What readers would get, and all that stands in the way. Where title, names or answers are missing the preview stands on
 * those of the trial, so that the host sees the page from the first look on.
 */
export async function previewPublication(
  deps: Deps,
  actor: Actor,
  trialId: string,
  draft: PublishDraft,
): Promise<PreviewMade> {
  const { trial, panel } = await trialFor(deps.db, actor, trialId);
  onlyHost(panel);
  const [{ readings, refusals }, kept, members, tastings, record] = await Promise.all([
    readSessions(deps.db, { trialId, panel, sessionIds: draft.sessionIds }),
    readKept(deps.db, trialId),
    listMembers(deps.db, panel.id),
    countTastings(deps.db, trialId),
    trialRecord(deps.db, trial, deps.clock()),
  ]);
  const deviations = deviationsOf(readings, draft);
  const { deposit, refused: unfit } = depositOf(draft);
  const missing = [...missingIn(draft, readings, deviations), ...unfit];
  const filled = { ...filledIn(draft, readings, deviations, trial.title), deposit };
  const earlier = await earlierOf(deps, trialId, draft.publicationId, kept);
  const composing: Composing = {
    seed: deps.random.bytes(32),
    draft: filled,
    readings,
    record,
    panel: panel.name,
    publishedOn: deps.clock().toISOString().slice(0, 10),
    tastings,
    version: (earlier?.version ?? 0) + 1,
    earlier,
    kept,
  };
  const { publication, refused } = await tryOut(deps, composing);
  const names = members.map(({ name }) => name);
  const codes = new Set(
    readings.flatMap(({ input }) => input.trays.flatMap(({ cups }) => cups.map((cup) => cup.code))),
  );
  return {
    publication,
    refusals: [...refusals, ...missing, ...refused],
    commentLines: [...new Set(readings.flatMap(({ input }) => linesOf(input)))].sort().map((line) => ({
      line,
      flags: scanComment(line, names).map(({ why, found }) => `${why} ‘${found}’`),
      passable: !(line.match(/\d{3}/g) ?? []).some((digits) => codes.has(digits)),
    })),
    recordTexts: textsOf(record, readings, names),
    caveats: deviations,
    sessions: readings.map(standingOf),
  };
}

/** Free texts of the record that this publication could tell, with what in them may name somebody. */
function textsOf(
  record: TrialRecord,
  readings: readonly Reading[],
  names: readonly string[],
): PublishPreview['recordTexts'] {
  const arms = new Map(armsOf(readings).map(({ id, name }) => [id, name]));
  const known = recordTexts(record, arms);
  return withServingNotes(known, readings).map((one) => ({
    ...one,
    flags: flagsOf(one.text, names),
    passable: isPassable(one.text),
  }));
}

/** What whoever poured was told is free text too: it goes along only where it is passed. */
function withServingNotes(known: readonly RecordText[], readings: readonly Reading[]): RecordText[] {
  const texts = new Map(known.map((one) => [one.text, one]));
  for (const { input } of readings) {
    const text = input.settings.servingNote.trim();
    const where = `note on serving, ‘${input.session.title}’`;
    const before = texts.get(text);
    if (text === '' || before?.where.includes(where)) continue;
    texts.set(text, { text, where: [...(before?.where ?? []), where], note: true });
  }
  return [...texts.values()];
}

async function tryOut(
  deps: Deps,
  composing: Composing,
): Promise<{ publication: string | null; refused: Refusal[] }> {
  if (composing.readings.length === 0) return { publication: null, refused: [] };
  try {
    return { publication: await deps.analyst.preview(composing), refused: [] };
  } catch (reason) {
    if (!(reason instanceof PublicationRefused)) throw reason;
    return { publication: null, refused: [refusalOf(reason, composing.readings)] };
  }
}

async function earlierOf(
  deps: Deps,
  trialId: string,
  publicationId: string | undefined,
  kept: Composing['kept'],
): Promise<Composing['earlier']> {
  if (publicationId === undefined) return null;
  const publication = await findPublication(deps.db, publicationId);
  if (!publication || publication.trialId !== trialId) throw problem('not-found');
  if (publication.withdrawnAt !== null) throw problem('publication-withdrawn');
  return kept.findLast((version) => version.publicationId === publicationId) ?? null;
}

/** Deviations of the arms in the sessions, each once, with the answer of the draft. */
function deviationsOf(readings: readonly Reading[], draft: PublishDraft): PublishPreview['caveats'] {
  const names = new Map(armsOf(readings).map(({ id, name }) => [id, name]));
  const all = readings.flatMap(({ input }) => input.deviations).filter(({ armId }) => names.has(armId));
  const once = new Map(all.map((one) => [JSON.stringify([one.armId, one.on, one.note]), one]));
  return [...once.values()].map(({ armId, on, note }) => {
    const given = draft.caveatAnswers.find(
      (one) => one.armId === armId && one.on === on && one.text === note,
    );
    const answer = given?.answer ?? '';
    const late = all.some(
      (one) =>
        one.armId === armId && one.on === on && one.note === note && one.notedAfterReveal !== undefined,
    );
    const arm = names.get(armId) ?? '';
    return { armId, arm, on, text: note, late, answer: answer === '' ? null : answer };
  });
}

function missingIn(
  draft: PublishDraft,
  readings: readonly Reading[],
  deviations: PublishPreview['caveats'],
): Refusal[] {
  return [
    ...(draft.title === '' ? [{ pointer: '#/title', detail: 'Give it a title.' }] : []),
    ...armsOf(readings)
      .filter(({ id }) => !draft.armNames[id])
      .map(({ id, name }) => ({ pointer: `#/armNames/${id}`, detail: `Give ${name} a name for readers.` })),
    ...(deviations.some(({ answer }) => answer === null)
      ? [{ pointer: '#/caveatAnswers', detail: 'Say of each deviation what it means for the result.' }]
      : []),
  ];
}

/** What is for archives: shown once all of it can stand, and otherwise named by field. */
function depositOf({ deposit }: PublishDraft): { deposit: DepositInput | undefined; refused: Refusal[] } {
  if (!deposit) return { deposit: undefined, refused: [] };
  const read = depositInput.safeParse(deposit);
  if (read.success) return { deposit: read.data, refused: [] };
  const refused = read.error.issues.map(({ path, message }) => ({
    pointer: `#/deposit/${path.join('/')}`,
    detail: message,
  }));
  return { deposit: undefined, refused };
}

function filledIn(
  draft: PublishDraft,
  readings: readonly Reading[],
  deviations: PublishPreview['caveats'],
  title: string,
): Omit<Composing['draft'], 'deposit'> {
  const { deposit: _deposit, ...rest } = draft;
  return {
    ...rest,
    title: draft.title || title,
    armNames: Object.fromEntries(armsOf(readings).map(({ id, name }) => [id, draft.armNames[id] || name])),
    caveatAnswers: deviations.map(({ armId, on, text, answer }) => ({
      armId,
      on,
      text,
      answer: answer ?? NOT_ANSWERED,
    })),
  };
}

function standingOf({ sessionId, input, consents, withdrawn }: Reading): PublishPreview['sessions'][number] {
  const { assessors } = peopleOf(input);
  return {
    sessionId,
    title: input.session.title,
    tier: tierOf(assessors.length),
    assessors: assessors.length,
    withdrawn,
    allAgreeRows: assessors.length > 0 && assessors.every((one) => consents.get(one)?.rows),
    allAgreeSmallGroup: assessors.length > 0 && assessors.every((one) => consents.get(one)?.smallGroup),
  };
}
