import type { PartResult, ResultDocument } from '../contracts/result.ts';
import type { AtReveal, PartRecord } from '../contracts/reveal-record.ts';
import type { Part } from '../contracts/part.ts';
import { isChoice } from '../contracts/part-fit.ts';
import type { SessionFinding } from '../contracts/session.ts';
import { differenceOf, hasRightAnswer, isDifferenceKind } from '../kinds/kinds.ts';
import { capital, people, pEquals } from '../ground/phrases.ts';
import { plainCaveat } from './common/caveats.ts';

// Fewer than these, or all of them alike, and two counts side by side would tell what somebody said. As between two
// versions of a publication.
const TOLD_FROM = 3;

/** What is kept of a result for good when the key turns, whatever is withdrawn afterwards. */
export function recordOf({ parts, failed }: ResultDocument): PartRecord[] {
  return [
    ...parts.map((part) => ({
      part: part.part,
      kind: part.kind,
      headline: part.finding.headline,
      assessors: part.served.assessors,
      ...figuresOf(part),
    })),
    ...failed.map(({ part, kind, headline }) => ({
      part,
      kind,
      headline,
      assessors: 0,
      verdict: 'no-data' as const,
      answers: 0,
      counted: null,
      p: null,
    })),
  ].sort((a, b) => a.part - b.part);
}

type Figures = Pick<PartRecord, 'verdict' | 'answers' | 'counted' | 'p'>;

function figuresOf(part: PartResult): Figures {
  const { answers } = part.served;
  const claimed = (shown: boolean, p: number | null = null): Figures => ({
    verdict: answers === 0 ? 'no-data' : shown ? 'difference-shown' : 'difference-not-shown',
    answers,
    counted: null,
    p,
  });
  switch (part.kind) {
    case 'preference': {
      const { answers, most, p } = part.test;
      return { verdict: part.finding.verdict, answers, counted: most, p: answers > 0 ? p : null };
    }
    case 'rating':
      return claimed(part.attributes.some(({ shown }) => shown));
    case 'description':
      return claimed(part.profile?.shown === true || part.words.some(({ test }) => test?.differs === true));
    case 'control':
      return claimed(part.verdict !== null && part.verdict.p <= part.settings.alpha, part.verdict?.p ?? null);
    case 'liking':
      return claimed(part.figures.shown, part.figures.verdict?.p ?? null);
    case 'ranking':
      return claimed(part.test?.shown === true, part.test?.p ?? null);
    default: {
      const { answers, counted, p } = part.test;
      return { verdict: part.finding.verdict, answers, counted, p: answers > 0 ? p : null };
    }
  }
}

/**
 * What a list tells of a part once the key has turned: its sentence, and its answers for a small plot. Marks, words and ranks have
 * no plot: means kept from the reveal beside later ones would tell the mark of somebody who took answers back.
 */
export function listedFinding(record: PartRecord, part: Part | undefined): SessionFinding {
  const { headline: sentence, answers, counted } = record;
  if (part === undefined || !isChoice(part) || counted === null || answers === 0)
    return { sentence, drawn: null };
  // Right answers alone are no finding where a criterion decides.
  if (part.kind === 'same-different') return { sentence, drawn: null };
  const sided = isDifferenceKind(part) && hasRightAnswer(part);
  const guessRate = sided ? differenceOf(part).test.guessRate : 1 / 2;
  // Without a right answer, those for the arm named more often stand first, as on the page of the result.
  const first = sided ? counted : Math.max(counted, answers - counted);
  return { sentence, drawn: { answers, counted: first, expected: answers * guessRate } };
}

/** Would the count of the reveal beside the later one tell what those said who left? */
export function tellsAnswers(record: PartRecord, later: PartRecord): boolean {
  if (record.counted === null || later.counted === null) return false;
  const gone = record.answers - later.answers;
  if (gone === 0) return false;
  // Both sorts of pairs are counted apart in its sentence, and of either a single person may have left.
  if (record.kind === 'same-different') return true;
  const counted = record.counted - later.counted;
  return record.assessors - later.assessors < TOLD_FROM || counted <= 0 || counted >= gone;
}

const figuresInWords = ({ counted, answers, p }: PartRecord): string =>
  [counted === null ? '' : `${counted} of ${answers}`, p === null ? '' : pEquals(p)]
    .filter(Boolean)
    .join(', ');

/** The finding of the reveal with its count and p, for members of the panel. */
export function recordInWords(record: PartRecord): string {
  const figures = figuresInWords(record);
  return figures === '' ? record.headline : `${record.headline} (${figures})`;
}

const CLAIMS: Readonly<Record<PartRecord['verdict'], string>> = {
  'no-data': 'Nobody had answered.',
  'difference-shown': 'A difference was shown.',
  'difference-not-shown': 'No difference was shown.',
  'similarity-shown': 'Likeness was shown.',
  'similarity-not-shown': 'Likeness was not shown.',
  'preference-shown': 'A preference was shown.',
  'preference-not-shown': 'No preference was shown.',
};

/** The same for readers: no arm by the name it was sealed under, and figures only where the panel's size lets them be told. */
export function recordForReaders(record: PartRecord, exact: boolean): PartRecord {
  const headline = CLAIMS[record.verdict];
  return exact
    ? { ...record, headline }
    : { ...record, headline, assessors: 0, answers: 0, counted: null, p: null };
}

/** Which parts of a later result are left out, since their count beside that of the reveal would tell answers. */
export function telling(result: ResultDocument, { parts, withdrawnSince }: AtReveal): Set<number> {
  if (withdrawnSince === 0) return new Set();
  const later = new Map(recordOf(result).map((one) => [one.part, one]));
  return new Set(
    parts.flatMap((record) => {
      const now = later.get(record.part);
      return now && tellsAnswers(record, now) ? [record.part] : [];
    }),
  );
}

/**
 * The result with the record of its reveal. While nobody left since, they are the same. Afterwards each part says first what
 * it said at the reveal; where both counts side by side would tell what somebody said, the later one is left out, and the
 * record stands alone under `withheld`. `words`: how a record is told, for members or for readers.
 */
export function withRecord(
  result: ResultDocument,
  atReveal: AtReveal,
  words: (record: PartRecord) => PartRecord = (record) => record,
): ResultDocument {
  const { parts: records, withdrawnSince } = atReveal;
  const told = { parts: records.map(words), withdrawnSince };
  if (withdrawnSince === 0) return { ...result, atReveal: told };
  const left = telling(result, atReveal);
  const gone = `${capital(people(withdrawnSince))} took their answers back after the reveal`;
  const recordIn = (part: number): string => {
    const record = told.parts.find((one) => one.part === part);
    return record ? ` At the reveal: ${recordInWords(record)}` : '';
  };
  return {
    ...result,
    atReveal: told,
    parts: result.parts
      .filter(({ part }) => !left.has(part))
      .map((part) => ({
        ...part,
        caveats: [
          plainCaveat('serving', `${gone}, so these figures are later ones.${recordIn(part.part)}`),
          ...part.caveats,
        ],
      })),
    withheld: told.parts
      .filter(({ part }) => left.has(part))
      .map((record) => {
        const figures = figuresInWords(record);
        return {
          part: record.part,
          kind: record.kind,
          headline: record.headline,
          lede: `This is what was found at the reveal${figures === '' ? '' : ` (${figures})`}. ${gone}; a count without them beside it would tell what they said, so it is left out.`,
        };
      }),
  };
}
