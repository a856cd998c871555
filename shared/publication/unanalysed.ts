import type { SessionInput } from '../analysis/analyse.ts';
import { judgeTrays } from '../analysis/choice/judge.ts';
import type { Unanalysed } from '../analysis/common/served.ts';
import { isDifferenceKind } from '../kinds/kinds.ts';
import { FULL_FROM, MIN_GROUP } from './disclosure.ts';
import { servedTrays } from './rows.ts';
import { givenWords } from './rows-words.ts';

/**
 * What no figure for readers may be made of: how single palates did over repeated trays, where some way of doing is that of
 * fewer than three people or the panel is small (an interval that weighs it gives it away), and words that fewer than three
 * gave (masses on a map sum up to them). Left out where there is nothing of the kind.
 */
export function unanalysedOf(input: SessionInput): { unanalysed?: Unanalysed } {
  const names = new Map(input.words.map(([id, { word }]) => [id, word]));
  const given = givenWords(input, { rareWords: true });
  const unanalysed: Unanalysed = {
    palates: input.settings.parts.flatMap((part, at) => {
      if (!isDifferenceKind(part) || part.replicates < 2) return [];
      const people = Map.groupBy(
        judgeTrays({ part, trays: servedTrays(input, at + 1) }),
        (one) => one.assessor,
      );
      const ways = Map.groupBy(
        people.values(),
        (answers) => `${answers.length} ${answers.filter(({ counted }) => counted).length}`,
      );
      const few = [...ways.values()].some((alike) => alike.length < MIN_GROUP);
      return people.size < FULL_FROM || few ? [at + 1] : [];
    }),
    words: input.settings.parts.flatMap((_, at) => {
      const rare = given.rareIn(at + 1);
      const ids = [...names].flatMap(([id, word]) => (rare.has(word) ? [id] : []));
      return ids.length > 0 ? [{ part: at + 1, ids }] : [];
    }),
  };
  return unanalysed.palates.length + unanalysed.words.length > 0 ? { unanalysed } : {};
}
