import { presentable } from '@oddglass/shared/analysis/common/presentable.ts';
import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { describe, expect, test } from 'vitest';
import { z } from 'zod';
import { wildSession } from '../support/wild-session.ts';

const share = z.number().min(0).max(1);
const contract = z.object({
  p: share.nullable(),
  icc: z.object({ lower: z.number(), upper: z.number() }).nullable(),
  rows: z.array(z.object({ p: share })),
  name: z.string(),
});
const whole = { p: 0.5, icc: { lower: 0.1, upper: 0.9 }, rows: [{ p: 0.1 }, { p: 0.2 }], name: 'bitter' };

describe('what the contract cannot hold', () => {
  test('a document that fits is the same, with no gaps', () => {
    expect(presentable(contract, whole)).toEqual({ value: whole, gaps: [] });
  });

  test.each([
    ['a figure that may be null', { ...whole, p: NaN }, { ...whole, p: null }, ['p']],
    ['a probability above 1', { ...whole, p: 1 + 1e-12 }, { ...whole, p: null }, ['p']],
    [
      'a figure in a group that may be null',
      { ...whole, icc: { lower: -Infinity, upper: 1 } },
      { ...whole, icc: null },
      ['icc.lower'],
    ],
    [
      'a figure in a list',
      { ...whole, rows: [{ p: 0.1 }, { p: NaN }] },
      { ...whole, rows: [] },
      ['rows.1.p'],
    ],
    [
      'several of them',
      { ...whole, p: Infinity, icc: { lower: NaN, upper: NaN } },
      { ...whole, p: null, icc: null },
      ['p', 'icc.lower'],
    ],
  ])('%s goes alone', (_what, given, told, figures) => {
    const { value, gaps } = presentable(contract, given);
    expect(value).toEqual(told);
    expect(gaps.map(({ figure }) => figure)).toEqual(figures);
  });

  test('without a place that may be empty nothing is told of it', () => {
    const { value, gaps } = presentable(z.object({ name: z.string() }), { name: 3 as unknown as string });
    expect(value).toBeNull();
    expect(gaps).toHaveLength(1);
  });
});

describe('a session', () => {
  const seed =
    Array.from({ length: 400 }, (_, at) => at).find((at) => wildSession(at).kinds.length === 3) ?? 0;
  const { input } = wildSession(seed).session;

  test('of which one part cannot be worked out tells the others, and which is missing', () => {
    const sound = analyseSession(input);
    // An answer of another kind than its part asks for: the analysis of that part throws.
    const broken: SessionInput = structuredClone(input);
    const [first] = broken.trays.flatMap(({ ballots }) => ballots).filter(({ part }) => part === 1);
    if (!first) throw new Error('nobody answered part 1');
    first.answer =
      broken.settings.parts[0]?.kind === 'liking'
        ? { kind: 'control', degree: 1 }
        : { kind: 'liking', value: 5 };
    const gaps: string[] = [];
    const told = analyseSession(broken, ({ part, reason }) => gaps.push(`${String(part)}: ${reason}`));
    expect(told.failed).toMatchObject([
      { part: 1, kind: broken.settings.parts[0]?.kind, headline: 'This part could not be worked out.' },
    ]);
    expect(told.parts).toEqual(sound.parts.filter(({ part }) => part !== 1));
    expect(gaps.some((gap) => /^1: (?:RangeError|Error)/.test(gap))).toBe(true);
    expect(() => resultDocument.parse(told)).not.toThrow();
  });
});
