import type { LikingResult, MarkFigures, RatingResult } from '../../contracts/result-rating.ts';
import type { OverTime, StoryAttribute, StoryInput, StorySession } from '../../contracts/story.ts';
import { inWords } from '../../ground/phrases.ts';
import { armsByPulls, type PullRating } from '../../stats/rating/arms-by-pulls.ts';
import type { Axis } from './axis.ts';
import { changes, testWords, type Unadjusted } from './over-time.ts';

/** What was marked in one part of a session. */
interface Marked {
  session: StorySession;
  part: RatingResult | LikingResult;
  attributeId: string;
  figures: MarkFigures;
}

export interface AttributeGroup {
  key: string;
  name: string;
  low: string;
  high: string;
  lowest: number;
  highest: number;
  found: Marked[];
}

const SCALES = { line: [0, 100], 'nine-point': [1, 9] } as const;

/** Attributes of the same name on the same scale with the same ends, and liking, over all sessions. */
export function attributeGroups({ sessions }: StoryInput): AttributeGroup[] {
  const all = sessions.flatMap((session) => session.result.parts.flatMap((part) => markedIn(session, part)));
  return [...Map.groupBy(all, ({ key }) => key)].map(([key, own]) => {
    const [{ name, low, high, lowest, highest }] = own as [(typeof own)[number]];
    return { key, name, low, high, lowest, highest, found: own.map(({ marked }) => marked) };
  });
}

function markedIn(
  session: StorySession,
  part: StorySession['result']['parts'][number],
): (Omit<AttributeGroup, 'found'> & { marked: Marked })[] {
  if (part.kind === 'liking') {
    return [
      {
        key: 'liking',
        name: 'liking',
        low: 'dislike extremely',
        high: 'like extremely',
        lowest: 1,
        highest: 9,
        marked: { session, part, attributeId: '', figures: part.figures },
      },
    ];
  }
  if (part.kind !== 'rating') return [];
  const [lowest, highest] = SCALES[part.settings.scale];
  return part.attributes.map(({ id, name, low, high, ...figures }) => ({
    key: [name.toLocaleLowerCase('en'), part.settings.scale, low, high].join('|'),
    name,
    low,
    high,
    lowest,
    highest,
    marked: { session, part, attributeId: id, figures },
  }));
}

/** The marks behind a group. A part that the result withholds is not in it, and so its marks are in no model. */
function ratingsOf({ found }: AttributeGroup): PullRating[] {
  return found.flatMap(({ session, part, attributeId }) =>
    session.marks
      .filter((mark) => mark.part === part.part && mark.attributeId === attributeId)
      .map(({ assessor, armId, value }) => ({ assessor, arm: armId, pull: session.id, value })),
  );
}

/** Does what sets arms apart change from session to session? Null where that cannot be asked. */
export function attributeChange(group: AttributeGroup): Unadjusted | null {
  const sessions = new Set(group.found.map(({ session }) => session.id)).size;
  // Two parts of one session were answered by the same people.
  if (sessions < 2 || sessions < group.found.length) return null;
  const { change } = armsByPulls({ ratings: ratingsOf(group), level: 0.95 });
  if (!change || ![change.f, change.df2, change.p].every(Number.isFinite)) return null;
  return {
    method: 'mixed',
    statistic: change.f,
    df: change.df1,
    df2: change.df2,
    p: Math.min(1, Math.max(0, change.p)),
    sessions,
  };
}

export function storyAttributeOf(
  group: AttributeGroup,
  { change, many, axis }: { change: StoryAttribute['change']; many: number; axis: Axis },
): StoryAttribute {
  const { found, ...told } = group;
  return {
    ...told,
    points: found.flatMap(({ session, part, figures }) =>
      part.samples.flatMap(({ key, armId, role }) => {
        const own = figures.samples.find(({ sample }) => sample === key);
        const mean = own?.estimated?.mean ?? own?.mean ?? null;
        if (!own || mean === null || role !== 'sample') return [];
        return [
          {
            sessionId: session.id,
            x: axis.at(session.on),
            on: session.on,
            armId,
            mean,
            lower: own.estimated?.lower ?? null,
            upper: own.estimated?.upper ?? null,
            n: own.n,
          },
        ];
      }),
    ),
    change,
    sentence: changeSentence(group, change, many),
  };
}

/** What is claimed of an attribute in which the arms moved apart, or together. */
export const changedMarksWords = (name: string, { sessions }: Pick<OverTime, 'sessions'>): string =>
  `“${name}”: what sets the arms apart was not the same in these ${inWords(sessions)} sessions`;

function changeSentence(
  { name, found }: AttributeGroup,
  change: StoryAttribute['change'],
  many: number,
): string {
  if (!change) {
    const asked = new Set(found.map(({ session }) => session.id)).size;
    if (asked < 2) return `“${name}” was marked in one session: whether it changes over time cannot be said.`;
    return asked < found.length
      ? `Whether what sets the arms apart in “${name}” changed cannot be tested: a session had it marked twice, by the same people.`
      : `Whether what sets the arms apart in “${name}” changed cannot be tested: this takes two sessions or more with two arms marked in all of them, and marks that vary between people.`;
  }
  const sessions = `${inWords(change.sessions)} sessions`;
  return changes(change)
    ? `${changedMarksWords(name, change)} (${testWords(change, many)}).`
    : `“${name}”: that what sets the arms apart changed over these ${sessions} was not shown (${testWords(change, many)}). It may have changed by less than these panels can see.`;
}
