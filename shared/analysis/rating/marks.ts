import type { ControlPart, LikingPart, RatingPart } from '../../contracts/part.ts';
import { comparedSamples, type ComparedSamples } from '../common/compared-samples.ts';
import type { PartInput, ServedSheet } from '../common/served.ts';

/** A mark asked for: given, declined ('I cannot say', null) or left unanswered. */
export interface AskedMark {
  assessor: string;
  replicate: number;
  /** Place of the sample among those compared; a hidden duplicate has that of its arm. */
  place: number;
  /** Left to right, from 1. */
  position: number;
  answered: boolean;
  value: number | null;
}

export interface MarkTable extends ComparedSamples {
  /** By attribute id; the one list of control and liking stands under ''. Warm-ups are not in it. */
  marks: Map<string, AskedMark[]>;
  duplicates: string[];
  comments: string[];
}

/**
 * The marks a part asked for, cup by cup, in a fixed order whatever the order of trays.
 * Errors: RangeError for an answer of another kind, or a sheet about a cup that is not on its tray.
 */
export function markTable({ samples, trays }: PartInput<RatingPart | ControlPart | LikingPart>): MarkTable {
  const compared = comparedSamples(samples, trays);
  const marks = new Map<string, AskedMark[]>();
  const comments: string[] = [];
  for (const { assessor, replicate, cups, sheets } of trays) {
    for (const sheet of sheets) {
      if (sheet.comment !== '') comments.push(sheet.comment);
      for (const code of sheet.codes) {
        const cup = cups.find((one) => one.code === code);
        if (!cup) throw new RangeError('a sheet asks about a cup that is not on its tray');
        const place = compared.placeOf(cup.sample);
        if (place === null) continue;
        const attributeIds = sheet.attributeIds.length === 0 ? [''] : sheet.attributeIds;
        for (const attributeId of attributeIds) {
          const own = marks.get(attributeId) ?? [];
          marks.set(attributeId, own);
          own.push({
            assessor,
            replicate,
            place,
            position: cup.position,
            answered: sheet.answer !== null,
            value: valueOf(sheet, code, attributeId),
          });
        }
      }
    }
  }
  for (const own of marks.values()) own.sort(byPlan);
  return {
    ...compared,
    marks,
    duplicates: samples.filter(({ role }) => role === 'duplicate').map(({ name }) => name),
    // By wording, so that the order of rows tells nothing about seats.
    comments: comments.sort(),
  };
}

function valueOf({ answer }: ServedSheet, code: string, attributeId: string): number | null {
  if (answer === null) return null;
  if (answer.kind === 'control') return answer.degree;
  if (answer.kind === 'liking') return answer.value;
  if (answer.kind !== 'rating') throw new RangeError(`cups are marked, not answered by ${answer.kind}`);
  return answer.marks.find((mark) => mark.code === code && mark.attributeId === attributeId)?.value ?? null;
}

function byPlan(a: AskedMark, b: AskedMark): number {
  if (a.assessor !== b.assessor) return a.assessor < b.assessor ? -1 : 1;
  return a.replicate - b.replicate || a.position - b.position;
}
