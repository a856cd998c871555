import type { OriginalFigure, Replication } from '@oddglass/shared/contracts/replication.ts';
import type { PublishedSession } from '@oddglass/shared/contracts/publication.ts';
import { besideInLines } from '@oddglass/shared/analysis/forest/figure-words.ts';
import { effectsOf } from '@oddglass/shared/analysis/forest/effects.ts';
import { sideBySide } from '@oddglass/shared/publication/side-by-side.ts';
import { describe, expect, it } from 'vitest';
import { armId } from '../analysis/common/flight-input.ts';
import { fixturePublication } from './package-fixture.ts';

const publication = fixturePublication();
const armIds = [0, 1, 2].map(armId);

/** The session as if its plan said that it repeats one with these figures. */
function repeating(session: PublishedSession, figures: OriginalFigure[], change: Partial<Replication> = {}) {
  const link = {
    root: 'a'.repeat(64),
    title: 'Once before',
    address: null,
    digest: 'b'.repeat(64),
    armIds,
    figures,
  };
  const leaves = session.seal.leaves.map((leaf) =>
    leaf.kind === 'settings' ? { ...leaf, body: { ...leaf.body, replicates: { ...link, ...change } } } : leaf,
  );
  return sideBySide(publication, { ...session, seal: { ...session.seal, leaves } });
}

const of = (kind: string): PublishedSession =>
  publication.sessions.find(({ parts }) => parts.some((part) => part.kind === kind))!;

describe('a replication beside what it repeats', () => {
  it('is nothing where no session is repeated', () => {
    expect(publication.sessions.map((session) => sideBySide(publication, session))).toEqual(
      publication.sessions.map(() => null),
    );
  });

  it('lies nowhere apart from itself, and every row says what is compatible', () => {
    for (const session of publication.sessions) {
      const figures = effectsOf(session, armIds);
      const beside = repeating(session, figures)!;
      expect(beside.rows).toHaveLength(figures.length);
      for (const { apart, reading } of beside.rows) {
        if (!apart) continue;
        expect(apart.estimate).toBeCloseTo(0, 12);
        expect(reading).toContain('compatible with one and the same size');
      }
      expect(besideInLines(beside).join(' ')).not.toMatch(/fail|succe/i);
    }
  });

  it('compares shares by the hybrid score interval of the published example', () => {
    const session = of('preference');
    const [own] = effectsOf(session, armIds).filter(({ measure }) => measure === 'share');
    // Newcombe 1998, table II, method 10 (from memory): 56/70 less 48/80 is 0.2, 95 % 0.0524 to 0.3339.
    const original = { ...own!, effect: 48 / 80, counted: 48, n: 80 };
    const votes = [56, 14];
    const parts = session.parts.map((part) =>
      part.kind === 'preference'
        ? { ...part, votes: part.votes.map((vote, at) => ({ ...vote, votes: votes[at]! })) }
        : part,
    );
    const row = repeating({ ...session, parts } as PublishedSession, [original])?.rows[0];
    expect(row?.apart?.estimate).toBeCloseTo(0.2, 12);
    expect(row?.apart?.lower).toBeCloseTo(0.0524, 4);
    expect(row?.apart?.upper).toBeCloseTo(0.3339, 4);
    expect(row?.reading).toContain('hardly compatible');
  });

  it('compares means as Welch does', () => {
    const session = of('rating');
    const figures = effectsOf(session, armIds).filter(({ kind }) => kind === 'rating');
    const own = figures[0]!;
    const original = { ...own, effect: own.effect! - 3, standardError: 2, df: 8 };
    const apart = repeating(session, [original])!.rows[0]!.apart!;
    const error = Math.hypot(own.standardError!, 2);
    const df = error ** 4 / (own.standardError! ** 4 / own.df! + 2 ** 4 / 8);
    expect(apart.estimate).toBeCloseTo(3, 10);
    // Half the interval over its error lies between the t of the smaller df and that of a normal (R: qt(.975, 8) 2.306, 1.960).
    const t = (apart.upper! - apart.lower!) / 2 / error;
    expect(df).toBeGreaterThan(8);
    expect(t).toBeLessThan(2.307);
    expect(t).toBeGreaterThan(1.96);
  });

  it('says of what it has no figure, and what was asked otherwise', () => {
    const session = of('triangle');
    expect(repeating(session, [], { digest: null })?.notes[0]).toContain('Only the protocol of the original');
    const [figure] = effectsOf(session, armIds);
    const beside = repeating(session, [{ ...figure!, about: 'smoky' }])!;
    expect(beside.rows).toEqual([]);
    expect(beside.notes[0]).toContain('One figure of the original has nothing beside it');
    const other = repeating(session, [{ ...figure!, kind: 'tetrad' }])!;
    expect(other.rows[0]?.reading).toContain('by another test (tetrad)');
    const unbounded = repeating(session, [{ ...figure!, effect: null, standardError: null, upper: null }])!;
    expect(unbounded.rows[0]).toMatchObject({
      apart: null,
      reading: expect.stringContaining('cannot be given'),
    });
  });
});
