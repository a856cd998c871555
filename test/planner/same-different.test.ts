import { assessPlan } from '@oddglass/shared/planner/planner.ts';
import { assessSameDifferent } from '@oddglass/shared/planner/plan-same-different.ts';
import type { Lingering } from '@oddglass/shared/contracts/session.ts';
import type { Part } from '@oddglass/shared/contracts/part.ts';
import { describe, expect, test } from 'vitest';

const id = (at: number) => `00000000-0000-4000-8000-00000000000${at}`;
const arms = ['Cool', 'Warm'].map((name, at) => ({ id: id(at), name, volumeMl: 20_000, abv: 4 }));

describe('same-different', () => {
  const pairs: Extract<Part, { kind: 'same-different' }> = {
    kind: 'same-different',
    armIds: [id(0), id(1)],
    replicates: 2,
    alpha: 0.05,
    beta: 0.2,
    dPrime: 2,
  };

  test('power by the criterion that names most pairs right (SciPy 1.17.1, as test/reference/discrimination.py)', () => {
    const reading = assessSameDifferent(24, pairs);
    expect(reading.figures[0]?.value).toBe('73 %');
    expect(reading.figures[1]?.value).toBe('28');
    expect(reading.warnings.join(' ')).toContain('28 assessors would reach it');
    expect(assessSameDifferent(24, { ...pairs, replicates: 1 }).figures[0]?.value).toBe('48 %');
  });

  test('says what two cups cost beside tests with more, and what people’s own criteria do', () => {
    const said = assessSameDifferent(24, { ...pairs, replicates: 1 }).sayings.join(' ');
    // SciPy 1.17.1: stats.binom.sf(12, 24, pc) with pc of a triangle and of a tetrad at d' 2 (Ennis 1993).
    expect(said).toMatch(
      /with one triangle each \d+ % and with one tetrad each .*\d+ % of the time; by this test, with two cups each, 48 %/,
    );
    expect(said).toMatch(/only one in ten pairs that do not differ it is \d+ %, of one in two \d+ %/);
    expect(said).toContain('Likeness cannot be shown');
    expect(said).toContain('Fisher');
  });

  test('an odd number of people with one tray each, and too few for anything, are told', () => {
    expect(assessSameDifferent(13, { ...pairs, replicates: 1 }).warnings.join(' ')).toContain('even number');
    expect(assessSameDifferent(4, { ...pairs, replicates: 1 }).sayings[0]).toContain('can show nothing');
    expect(assessSameDifferent(400, { ...pairs, dPrime: 0.1 }).figures[1]?.value).toBe('none');
  });

  test('is proposed where drinks linger and three cups would be held against each other', () => {
    const triangle: Part = {
      kind: 'triangle',
      armIds: [id(0), id(1)],
      replicates: 1,
      alpha: 0.05,
      aim: 'difference',
      meaningfulShare: 0.5,
      beta: 0.2,
    };
    const plan = (part: Part, lingering: Lingering[]) =>
      assessPlan(
        {
          assessors: 12,
          spareSeats: 2,
          cupMl: 40,
          restSeconds: 60,
          masking: false,
          servingNote: '',
          parts: [part],
          lingering,
        },
        arms,
      );
    const warned = (part: Part, lingering: Lingering[]) => plan(part, lingering).parts[0]?.warnings.join(' ');
    expect(warned(triangle, ['smoky'])).toContain('a same-different test needs two as well');
    expect(warned(triangle, [])).not.toContain('same-different');
    // Two cups a tray are what it is for.
    expect(warned(pairs, ['smoky'])).not.toContain('held against each other');
    const { cupsEach, liquid } = plan(pairs, []);
    expect(cupsEach).toBe(4);
    expect(liquid.map(({ cups }) => cups)).toEqual([24, 24]);
  });
});
