import { csvText, type Cell } from '@oddglass/shared/export/csv.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { figureRows, tidyAnswers, TIDY_COLUMNS } from '@oddglass/shared/export/tidy.ts';
import { sessionFor } from '../../access/panel-access.ts';
import type { Deps } from '../../deps.ts';
import type { Actor } from '../../access/actor.ts';
import { readAnswers } from '../../session-data/session-input.ts';
import { resultOf } from '../../session-data/session-result.ts';

/**
 * The result document of a revealed session, worked out anew from key and ballots, so that nothing can go stale, beside
 * what was found at the reveal, which is kept.
 */
export async function readResult(deps: Deps, actor: Actor, sessionId: string): Promise<ResultDocument> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  return resultOf(deps, await readAnswers(deps.db, session, panel));
}

const cells = (row: object): Record<string, Cell> => ({ ...row }) as Record<string, Cell>;

/** With the mark at the start by which spreadsheets know that a text is UTF-8. */
const forSpreadsheets = (csv: string): string => `\uFEFF${csv}`;

/** Every answer as a tidy row. */
export async function readAnswersCsv(
  deps: Deps,
  actor: Actor,
  sessionId: string,
): Promise<{ title: string; csv: string }> {
  const { session, panel } = await sessionFor(deps.db, actor, sessionId);
  const answers = await readAnswers(deps.db, session, panel);
  const { input, atReveal } = answers;
  // What the page leaves out so that nobody's answer can be worked out is not told row by row either.
  const left = new Set(
    atReveal?.withdrawnSince ? (await resultOf(deps, answers)).withheld?.map(({ part }) => part) : [],
  );
  const rows = tidyAnswers(input).filter(({ part }) => !left.has(part));
  return {
    title: `${session.rehearsal ? 'rehearsal ' : ''}${session.settings.title}`,
    csv: forSpreadsheets(
      csvText(rows.map(cells), session.settings.sites ? [...TIDY_COLUMNS, 'site'] : TIDY_COLUMNS),
    ),
  };
}

/** Every number of the result document as a row. */
export async function readFiguresCsv(
  deps: Deps,
  actor: Actor,
  sessionId: string,
): Promise<{ title: string; csv: string }> {
  const document = await readResult(deps, actor, sessionId);
  const rows = figureRows(document).map(cells);
  const csv = forSpreadsheets(csvText(rows, ['part', 'kind', 'figure', 'value']));
  const { title, rehearsal } = document.session;
  return { title: `${rehearsal ? 'rehearsal ' : ''}${title}`, csv };
}
