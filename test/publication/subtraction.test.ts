import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { MarkFigures } from '@oddglass/shared/contracts/result-rating.ts';
import { toldBySubtraction } from '@oddglass/shared/publication/audit/subtraction.ts';
import { describe, expect, test } from 'vitest';
import { fixturePublication } from './package-fixture.ts';

type Part = Publication['sessions'][number]['parts'][number];
type Kind = Part['kind'];
type Of<K extends Kind> = Part & { kind: K };

// Those of small panels come last: there less is told.
const parts: Part[] = fixturePublication(1)
  .sessions.toSorted((a, b) => Number(b.tier === 'full') - Number(a.tier === 'full'))
  .flatMap((session) => session.parts);

function part<K extends Kind>(kind: K): Of<K> {
  const found = parts.find((one) => one.kind === kind);
  if (!found) throw new Error(`no part of kind ${kind}`);
  return structuredClone(found) as Of<K>;
}

function first<T>([one]: readonly T[]): T {
  if (one === undefined) throw new Error('nothing there');
  return one;
}

/** Takes the marks of people away from the first sample, as the published figures then are. */
function leave(figures: MarkFigures, marks: readonly number[]): void {
  const sample = first(figures.samples);
  const sum = (sample.mean ?? 0) * sample.n - marks.reduce((all, mark) => all + mark, 0);
  sample.n -= marks.length;
  sample.assessors -= marks.length;
  sample.mean = sum / sample.n;
  for (const row of sample.counts) row.marks -= marks.filter((mark) => mark === row.value).length;
}

/** The same part after people left: those named for the first sample, answer or word of it. */
const LEAVE: Partial<Record<Kind, (people: number, alike: boolean) => Part>> = {
  triangle: (people, alike) => {
    const left = part('triangle');
    left.test.answers -= people;
    left.test.counted -= alike ? people : 1;
    return left;
  },
  preference: (people, alike) => {
    const left = part('preference');
    const [one, two] = left.votes;
    if (!one || !two) throw new Error('a preference has two arms');
    one.votes -= alike ? people : people - 1;
    two.votes -= alike ? 0 : 1;
    return left;
  },
  'same-different': (people, alike) => {
    const left = part('same-different');
    const { different } = left.pairs;
    different.answers -= people;
    different.said = (different.said ?? 0) - (alike ? people : 1);
    return left;
  },
  description: (people, alike) => {
    const left = part('description');
    const share = first(first(left.words).shares);
    share.asked -= people;
    share.checked -= alike ? people : 1;
    return left;
  },
  ranking: (people, alike) => {
    const left = part('ranking');
    const sample = first(left.samples);
    const [low, high] = sample.ranks;
    if (!low || !high) throw new Error('a ranking of many has ranks');
    sample.assessors -= people;
    low.people -= alike ? people : people - 1;
    high.people -= alike ? 0 : 1;
    return left;
  },
  rating: (people, alike) => {
    const left = part('rating');
    leave(first(left.attributes), [...Array<number>(people - 1).fill(100), alike ? 100 : 99]);
    return left;
  },
  control: (people, alike) => {
    const left = part('control');
    leave(left.figures, [...Array<number>(people - 1).fill(1), alike ? 1 : 2]);
    return left;
  },
  liking: (people, alike) => {
    const left = part('liking');
    leave(left.figures, [...Array<number>(people - 1).fill(5), alike ? 5 : 6]);
    return left;
  },
};
const kinds = Object.keys(LEAVE) as Kind[];

describe.each(kinds)('%s', (kind) => {
  const after = (people: number, alike: boolean) =>
    toldBySubtraction(part(kind), (LEAVE[kind] ?? (() => part(kind)))(people, alike));

  test('tells nothing where nobody left', () => {
    expect(toldBySubtraction(part(kind), part(kind))).toBeNull();
  });

  test.each([
    [1, 'one'],
    [2, 'two'],
  ])('tells of %i who left one sample or question', (people, word) => {
    expect(after(people, false)).toMatch(new RegExp(`^only ${word} of them answered for `));
  });

  test('tells of three who left and had answered alike, and of three who had not nothing', () => {
    expect(after(3, true)).toMatch(/^all of them answered alike for /);
    expect(after(3, false)).toBeNull();
  });
});

test('a word that is told no longer cannot be subtracted', () => {
  const left = part('description');
  left.words = left.words.slice(1);
  expect(toldBySubtraction(part('description'), left)).toBeNull();
});
