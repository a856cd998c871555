import type { PublishedSession } from '../../contracts/publication.ts';
import type { MarkFigures } from '../../contracts/result-rating.ts';
import { isDifferenceKind } from '../../kinds/kinds.ts';
import { MIN_BATCH } from '../disclosure.ts';

type Part = PublishedSession['parts'][number];

/** People behind a figure of a part, and what is known of what they said. */
interface Group {
  /** What it is about, within the part: a sample, an attribute, a word. The same in both versions. */
  about: string;
  people: number;
  /** Answers they gave: more than people where some answered twice. */
  answers: number;
  /** How many said each thing; empty where only a sum is told. */
  said: readonly number[];
  /** Sum of their marks with the least and most that one can be; null where no sum is told. */
  sum: { total: number; least: number; most: number } | null;
}

/** Sums of published means differ from whole ones by roundings of the last bits. */
const ROUNDING = 1e-6;

/**
 * What the same part in two versions, subtracted, would tell of those who left: null where it tells nothing of anybody, else a
 * sentence. Told would be answers of one or two people, and what all who left said, however many they are: whoever knows who left
 * would know what each said. It is asked of every choice, sample, attribute and word.
 *
 * Source: differencing of tables, Hundepool et al. 2012, Statistical Disclosure Control (from memory).
 */
export function toldBySubtraction(was: Part, now: Part): string | null {
  const after = new Map(groupsOf(now).map((group) => [group.about, group]));
  for (const before of groupsOf(was)) {
    const left = after.get(before.about);
    // What is no longer told cannot be subtracted.
    if (!left) continue;
    const gone = before.people - left.people;
    if (gone === 0) continue;
    if (gone < MIN_BATCH) return `only ${gone === 1 ? 'one' : 'two'} of them answered for ${before.about}`;
    if (alike(before, left)) return `all of them answered alike for ${before.about}`;
  }
  return null;
}

function alike(before: Group, left: Group): boolean {
  const gone = before.answers - left.answers;
  const counts = before.said.map((count, at) => count - (left.said[at] ?? 0));
  if (before.said.length > 0 && before.said.length === left.said.length) {
    return counts.some((count) => count >= gone);
  }
  if (!before.sum || !left.sum) return false;
  const { least, most } = before.sum;
  const total = before.sum.total - left.sum.total;
  return total <= gone * least + ROUNDING || total >= gone * most - ROUNDING;
}

function groupsOf(part: Part): Group[] {
  if (isDifferenceKind(part)) {
    const { answers, counted } = part.test;
    return [{ about: 'the choice', people: answers, answers, said: [counted, answers - counted], sum: null }];
  }
  switch (part.kind) {
    case 'preference': {
      const said = [...part.votes.map(({ votes }) => votes), part.noPreference.answers];
      return [{ about: 'the choice', ...everybody(said), said, sum: null }];
    }
    case 'same-different':
      // Both sorts by themselves: those who left may all have had the same.
      return (['different', 'same'] as const).flatMap((sort) => {
        const { answers, said } = part.pairs[sort];
        const people = Math.ceil(answers / Math.max(1, part.settings.replicates / 2));
        return said === null
          ? []
          : [{ about: `pairs that are ${sort}`, people, answers, said: [said, answers - said], sum: null }];
      });
    case 'description':
      return [
        ...part.words,
        ...(part.late?.words ?? []).map((word) => ({ ...word, word: `${word.word}, asked late` })),
      ].flatMap(({ word, shares }) =>
        shares.map(({ asked, checked }, at) => ({
          about: `‘${word}’ of ${part.samples[at]?.name ?? 'a sample'}`,
          people: asked,
          answers: asked,
          // That nobody who left gave a word tells little of anybody: most give most words to no cup.
          said: [checked],
          sum: null,
        })),
      );
    case 'ranking':
      return part.samples.map(({ name, assessors, ranks, rankSum }) => ({
        about: name,
        people: assessors,
        answers: assessors,
        said: ranks.map(({ people }) => people),
        sum: rankSum === null ? null : { total: rankSum, least: 1, most: part.samples.length },
      }));
    case 'rating': {
      const [least, most] = part.settings.scale === 'line' ? [0, 100] : [1, 9];
      return part.attributes.flatMap((figures) =>
        markGroups(part, figures, least, most, ` of ${figures.name}`),
      );
    }
    case 'liking':
      return markGroups(part, part.figures, 1, 9);
    case 'control':
      return markGroups(part, part.figures, 0, part.settings.degrees.length - 1);
  }
}

function everybody(said: readonly number[]): Pick<Group, 'people' | 'answers'> {
  const people = said.reduce((sum, count) => sum + count, 0);
  return { people, answers: people };
}

function markGroups(
  { samples }: { samples: readonly { key: string; name: string }[] },
  figures: MarkFigures,
  least: number,
  most: number,
  of = '',
): Group[] {
  return figures.samples.map(({ sample, n, assessors, mean, counts }) => ({
    about: `${samples.find(({ key }) => key === sample)?.name ?? sample}${of}`,
    people: assessors,
    answers: n,
    said: counts.map(({ marks }) => marks),
    sum: mean === null ? null : { total: mean * n, least, most },
  }));
}
