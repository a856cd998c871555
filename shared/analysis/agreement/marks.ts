import type { Answer } from '../../contracts/ballot.ts';
import type { AssessorRows } from '../../stats/complete-rows.ts';
import type { AssessorRating } from '../../stats/agreement/assessor-ratings.ts';
import { isChoiceKind } from '../../kinds/kinds.ts';
import { comparedSamples } from '../common/compared-samples.ts';
import { dealtInBlocks, type PartInput, type ServedCup, type ServedTray } from '../common/served.ts';

/** Marks of one thing: an attribute, the degree of difference, the place in an order. */
export interface Subject {
  about: string;
  ratings: AssessorRating[];
  /** Ends of the scale; null for ranks, whose ends depend on the number of cups. */
  scale: { from: number; to: number } | null;
  distance: 'interval' | 'ordinal';
}

type Judged = (answer: Answer, cup: ServedCup, tray: ServedTray) => number | null;

/** Every mark of a part, by what it is about; a hidden duplicate is a further mark of its arm. Warm-ups are left out. */
export function subjectsOf(input: PartInput): Subject[] {
  const { part } = input;
  if (isChoiceKind(part)) return [];
  switch (part.kind) {
    case 'rating': {
      const scale = part.scale === 'line' ? { from: 0, to: 100 } : { from: 1, to: 9 };
      return part.attributes.map(({ id, name }) => ({
        about: name,
        scale,
        distance: 'interval',
        ratings: marks(input, (answer, { code }) =>
          answer.kind === 'rating'
            ? (answer.marks.find((mark) => mark.code === code && mark.attributeId === id)?.value ?? null)
            : null,
        ),
      }));
    }
    case 'control':
      return [
        {
          about: 'degree of difference',
          scale: { from: 0, to: part.degrees.length - 1 },
          distance: 'ordinal',
          ratings: marks(input, (answer) => (answer.kind === 'control' ? answer.degree : null)),
        },
      ];
    case 'ranking':
      // In incomplete blocks ranks of different trays do not compare, so that there is nothing to agree on.
      if (dealtInBlocks(input)) return [];
      return [{ about: part.attribute, scale: null, distance: 'ordinal', ratings: ranks(input) }];
    case 'description':
    case 'liking':
      return [];
  }
}

function marks({ samples, trays }: PartInput, judged: Judged): AssessorRating[] {
  const { samples: compared, placeOf } = comparedSamples(samples, trays);
  const rows = trays.flatMap((tray) =>
    asked(tray).flatMap(({ cup, answer }) => {
      const place = placeOf(cup.sample);
      const value = answer === null ? null : judged(answer, cup, tray);
      const sample = place === null ? undefined : compared[place];
      return sample && value !== null ? [{ assessor: tray.assessor, sample: sample.key, value }] : [];
    }),
  );
  // Sorted, so that the order in which trays are handed in changes no digit.
  return rows.sort(
    (a, b) => byLabel(a.assessor, b.assessor) || byLabel(a.sample, b.sample) || a.value - b.value,
  );
}

/** Places in the orders given; the warm-up is taken out, and the cups behind it move up. */
function ranks(input: PartInput): AssessorRating[] {
  const { placeOf } = comparedSamples(input.samples, input.trays);
  return marks(input, (answer, { code }, { cups }) => {
    if (answer.kind !== 'ranking') return null;
    const compared = answer.order.filter((one) =>
      cups.some((cup) => cup.code === one && placeOf(cup.sample) !== null),
    );
    return compared.indexOf(code) + 1;
  });
}

function asked({ cups, sheets }: ServedTray): { cup: ServedCup; answer: Answer | null }[] {
  return sheets.flatMap(({ codes, answer }) =>
    codes.flatMap((code) => {
      const cup = cups.find((one) => one.code === code);
      return cup ? [{ cup, answer }] : [];
    }),
  );
}

/** Order of labels, a2 before a10. */
export const byLabel = (a: string, b: string): number => a.length - b.length || (a < b ? -1 : Number(a > b));

/** A person's mean of every sample: one line per assessor, null where there is no mark. */
export function meanRows(ratings: readonly AssessorRating[]): {
  assessors: string[];
  samples: string[];
  rows: AssessorRows;
} {
  const assessors = [...new Set(ratings.map(({ assessor }) => assessor))];
  const samples = [...new Set(ratings.map(({ sample }) => sample))].sort(byLabel);
  const sums = new Map<string, { sum: number; marks: number }>();
  for (const { assessor, sample, value } of ratings) {
    const key = `${assessor} ${sample}`;
    const before = sums.get(key);
    if (before === undefined) sums.set(key, { sum: value, marks: 1 });
    else {
      before.sum += value;
      before.marks += 1;
    }
  }
  const rows = assessors.map((assessor) =>
    samples.map((sample) => {
      const own = sums.get(`${assessor} ${sample}`);
      return own === undefined ? null : own.sum / own.marks;
    }),
  );
  return { assessors, samples, rows };
}
