import type { StoryInput, StoryWord } from '../../contracts/story.ts';
import { BUILT_IN } from '../../vocabulary/built-in.ts';
import type { Axis } from './axis.ts';

/** Words drawn over time. More cannot be told apart on a page. Our own bound; no source. */
const MAX_WORDS = 6;

interface Said {
  id: string;
  word: string;
  differs: boolean;
  checked: number;
  point: StoryWord['points'][number];
}

function saidIn({ sessions }: StoryInput, axis: Axis): Said[] {
  return sessions.flatMap(({ id: sessionId, on, result }) =>
    result.parts.flatMap((part) =>
      part.kind !== 'description'
        ? []
        : part.words.flatMap(({ id, word, test, shares }) =>
            shares.flatMap(({ sample, checked, asked, share, lower, upper }) => {
              const of = part.samples.find(({ key }) => key === sample);
              if (share === null || of?.role !== 'sample') return [];
              const point = {
                sessionId,
                x: axis.at(on),
                on,
                armId: of.armId,
                checked,
                asked,
                share,
                lower,
                upper,
              };
              return [{ id, word, differs: test?.differs ?? false, checked, point }];
            }),
          ),
    ),
  );
}

/** The words said of the arms over sessions: those shown to differ in one of them first, then those said most. */
export function storyWords(input: StoryInput, axis: Axis): StoryWord[] {
  const groups = [...Map.groupBy(saidIn(input, axis), ({ id }) => id).values()].map((own) => ({
    word: own[0]?.word ?? '',
    differs: own.some(({ differs }) => differs),
    checked: own.reduce((sum, { checked }) => sum + checked, 0),
    points: own.map(({ point }) => point),
  }));
  return groups
    .filter(({ checked }) => checked > 0)
    .sort(
      (a, b) => Number(b.differs) - Number(a.differs) || b.checked - a.checked || (a.word < b.word ? -1 : 1),
    )
    .slice(0, MAX_WORDS)
    .map(({ word, points }) => ({ word, points }));
}

const FAULTS = new Set(BUILT_IN.words.filter(({ kind }) => kind === 'fault').map(({ id }) => id));

/** Words that name a fault, as people said them of an arm, session after session. */
export function faultsOf(input: StoryInput, axis: Axis, armId: string): { on: string; text: string }[] {
  return saidIn(input, axis)
    .filter(({ id, checked, point }) => FAULTS.has(id) && checked > 0 && point.armId === armId)
    .map(({ word, point }) => ({
      on: point.on,
      text: `“${word}” was said by ${point.checked} of ${point.asked} (95 % interval of the share ${percents(point.lower)} to ${percents(point.upper)} %).`,
    }));
}

const percents = (share: number): string => String(Math.round(100 * share));
