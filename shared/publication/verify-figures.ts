import { checkChoiceFigures } from './verify-choice.ts';
import type { PartOf, SessionOf } from './verify-format.ts';
import { checkMarks } from './verify-marks.ts';
import { checkSameDifferent } from './verify-same-different.ts';
import { checkRanking } from './verify-ranking.ts';
import { lookOf, whole, type Cells, type Look, type Report } from './verify-report.ts';
import { checkDescription, type Offered } from './verify-words.ts';

// The figures of a part (verify.ts), by its kind, and what of a session follows from how many people there were.

/** From so many people on everything is told exactly; below so many only with everybody's agreement. */
const FULL_FROM = 10;
const AGREED_BELOW = 5;

/** How much may be told of so many people. */
const tierOf = (people: number): string =>
  people >= FULL_FROM ? 'full' : people >= AGREED_BELOW ? 'coarse' : 'agreed';

/** Months, people and the tier of a session. */
export function checkFrame(session: SessionOf, report: Report): void {
  const { assessors, tier, heldIn, withdrawn, parts } = session;
  lookOf(
    report,
    'the session',
    false,
  )('month, people and how much may be told', (cells) => {
    if (!/^\d{4}-(0[1-9]|1[0-2])$/.test(String(heldIn))) cells.fault(`month ${String(heldIn)} is none`);
    cells.is('how much may be told', tier, tierOf(assessors));
    cells.count('people who withdrew', withdrawn);
    cells.count('people who answered', assessors, session.seated);
    const most = parts.reduce((sum, { served }) => Math.max(sum, served.assessors), 0);
    if (session['withheld'] === undefined && parts.length > 0)
      cells.within('people who answered', assessors, most, Infinity);
    const record = session['atReveal'] as
      { parts: Record<string, number | null>[]; withdrawnSince: number } | undefined;
    cells.count('people who withdrew since the reveal', record?.withdrawnSince, Number(withdrawn));
    for (const one of record?.parts ?? []) {
      cells.count(`answers of part ${one['part']} at the reveal`, one['answers']);
      cells.count(
        `counted answers of part ${one['part']} at the reveal`,
        one['counted'],
        one['answers'] ?? undefined,
      );
      cells.within(`p of part ${one['part']} at the reveal`, one['p'], 0, 1);
    }
  });
}

/** Is a part told as small panels are? One that fewer answered than its session is told as they would be. */
export const isCoarse = ({ tier }: SessionOf, { served }: PartOf): boolean =>
  tier !== 'full' || served.assessors < FULL_FROM;

/** Every figure of a part that needs no model. `guess`: chance of a right answer by guessing, of a choice. */
export function checkFigures(
  part: PartOf,
  {
    session,
    guess,
    offered,
    report,
  }: { session: SessionOf; guess: number | null; offered: Offered; report: Report },
): void {
  const coarse = isCoarse(session, part);
  const look: Look = lookOf(report, `part ${part.part} (${part.kind})`, coarse);
  const pairs = part.kind === 'same-different';
  look('people and answers', (cells) => checkServed(part, guess !== null || pairs, cells));
  if (pairs) checkSameDifferent(part, session, look);
  else if (guess !== null) checkChoiceFigures(part, guess, session, look);
  else if (part.kind === 'ranking') checkRanking(part, look);
  else if (part.kind === 'description') checkDescription(part, offered, look);
  else checkMarks(part, look);
}

function checkServed({ served, kind, settings, ...part }: PartOf, choice: boolean, cells: Cells): void {
  const { seated, assessors, answers, unanswered } = served;
  cells.count('people seated', seated);
  cells.count('people who answered', assessors, seated);
  cells.count('answers', answers);
  cells.count('sheets left unanswered', unanswered);
  if (answers === undefined || unanswered === undefined) return;
  cells.within('answers', answers, assessors, Infinity);
  const trays = Number(settings['replicates'] ?? 1);
  const sheets = answers + unanswered;
  if (choice) cells.is('sheets answered and left unanswered', sheets, seated * trays);
  else if (sheets % Math.max(1, seated) !== 0)
    cells.fault(
      `sheets are ${answers} answered and ${unanswered} not, which ${seated} people cannot have had alike`,
    );
  // Of what is asked cup by cup each cup is a sheet, warm-ups too.
  const cupwise =
    kind === 'liking' || kind === 'control' || (kind === 'rating' && settings['by'] === 'sample');
  if (!cupwise || (part.warmUps ?? []).length > 0) return;
  for (const list of part.attributes ?? (part.figures ? [part.figures] : [])) {
    cells.is('marks given and declined', whole([list.n, list.declined]), answers);
    cells.is('marks left unanswered', list.unanswered, unanswered);
  }
}
