import { forestsOf, type ForestSession } from '@oddglass/shared/analysis/forest/forest.ts';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import { forest as schema } from '@oddglass/shared/contracts/forest.ts';
import { fixtureSession } from '../../publication/package-fixture.ts';
import { describe, expect, it } from 'vitest';

const first = fixtureSession(1, 1);
const arms = first.input.session.arms;
const { parts } = analyseSession(first.input);

/** A session as if so many of so many had been right in its triangle. */
function session(name: string, counted: number, answers: number): ForestSession {
  return {
    session: name,
    name,
    on: '2031-03',
    parts: parts.flatMap((part) =>
      part.kind === 'triangle'
        ? [
            {
              ...part,
              test: { ...part.test, counted, answers },
              dPrime: { ...part.dPrime!, estimate: 0, standardError: null },
            },
          ]
        : [],
    ),
  };
}

describe('sessions beside each other', () => {
  it('are told from two on, pooled from three, and a session that found nothing counts like the others', () => {
    expect(forestsOf([session('a', 20, 30)], arms)).toEqual([]);
    const [two] = forestsOf([session('a', 20, 30), session('b', 12, 30)], arms);
    expect(two).toMatchObject({ pooled: null, heterogeneity: { df: 1, iSquared: null } });
    expect(two?.sentence).toContain('Below three sessions no number is pooled.');
    const [three] = forestsOf([session('a', 20, 30), session('b', 12, 30), session('c', 15, 24)], arms);
    // R: prop.test(c(20, 12, 15), c(30, 30, 24), correct = FALSE)$statistic.
    expect(three?.heterogeneity?.q).toBeCloseTo(4.912478435883, 10);
    expect(three?.rows.map(({ session: id, counts }) => [id, counts])).toEqual([
      ['a', true],
      ['b', true],
      ['c', true],
    ]);
    // Between that of 12 of 30 and that of 20 of 30 right (d-primes of triangles of 0.40 and 0.667).
    expect(three?.pooled?.effect).toBeGreaterThan(0.87);
    expect(three?.pooled?.effect).toBeLessThan(2.33);
    expect(three?.sentence).toContain('known imprecisely from so few');
    expect(schema.parse(three)).toEqual(three);
  });

  it('have no number beyond their own where nobody or everybody was right, or one session stands twice', () => {
    const [alike] = forestsOf([session('a', 9, 9), session('b', 5, 5)], arms);
    expect(alike).toMatchObject({ heterogeneity: null, pooled: null });
    expect(alike?.sentence).toContain('cannot be computed');
    const twice = [session('a', 9, 12), session('a', 5, 12), session('b', 5, 12)];
    expect(forestsOf(twice, arms)[0]).toMatchObject({ heterogeneity: null });
    // Below guessing the mean is no d-prime below 0.
    const [low] = forestsOf([session('a', 2, 12), session('b', 3, 12), session('c', 1, 12)], arms);
    expect(low?.pooled).toMatchObject({ effect: 0, lower: 0 });
  });

  it('are told of every measure that has an error of its own, with the same arms and ends only', () => {
    const marked = analyseSession(fixtureSession(4, 1).input).parts;
    const other = analyseSession(fixtureSession(4, 2).input).parts;
    const last = analyseSession(fixtureSession(4, 3).input).parts;
    const told = forestsOf(
      [marked, other, last].map((own, at) => ({
        session: String(at),
        name: 'Day',
        on: '2031-03',
        parts: own,
      })),
      arms,
    );
    expect(told.map(({ measure }) => measure)).toContain('marks');
    for (const one of told) {
      expect(one.rows).toHaveLength(3);
      expect(one.pooled?.lower).toBeLessThan(one.pooled!.effect!);
    }
    expect(new Set(told.map(({ name }) => name)).size).toBe(told.length);
  });
});
