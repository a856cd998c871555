import type { ControlPart, LikingPart, RatingPart } from '../../contracts/part.ts';
import type { StoryMark } from '../../contracts/story.ts';
import { partInputs, type SessionInput } from '../analyse.ts';
import { markTable } from '../rating/marks.ts';

/** Marks of a revealed session by arm: of plain samples, their hidden duplicates with them; spiked cups and controls are not arms. */
export function storyMarks(input: SessionInput): StoryMark[] {
  return partInputs(input).flatMap((one) => {
    const { part, number } = one;
    if (part.kind !== 'rating' && part.kind !== 'liking') return [];
    const marked: RatingPart | LikingPart | ControlPart = part;
    const { samples, marks } = markTable({ ...one, part: marked });
    return [...marks].flatMap(([attributeId, own]) =>
      own.flatMap(({ assessor, place, value }) => {
        const sample = samples[place];
        return value === null || sample?.role !== 'sample'
          ? []
          : [{ part: number, attributeId, armId: sample.armId, assessor, value }];
      }),
    );
  });
}
