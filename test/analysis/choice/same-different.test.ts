import { analyseSameDifferent } from '@oddglass/shared/analysis/same-different/same-different.ts';
import {
  sameDifferentResult,
  type SameDifferentResult,
} from '@oddglass/shared/contracts/result-same-different.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { pairVerdictClaims } from '../../support/calibration-choices.ts';
import { simulatedPanel } from '../../support/percepts.ts';
import { input, sameDifferentPart, tray } from './choice-input.ts';

const BOTH = [1, 2];
const ORDERS = ['AA', 'AB', 'BB', 'BA'];
const isDifferent = (order: string): boolean => order[0] !== order[1];

/** One tray each: so many hits of `differing` pairs that differ, and so many false alarms of as many that do not. */
function alone(differing: number, hits: number, alarms: number): SameDifferentResult {
  const trays = Array.from({ length: 2 * differing }, (_, index) => {
    const order = ORDERS[index % 4] ?? '';
    const nth = Math.floor(index / 2);
    const said = isDifferent(order) ? nth < hits : nth < alarms;
    return tray(order, said ? BOTH : [], { assessor: `a${index}` });
  });
  return analyseSameDifferent(input({ ...sameDifferentPart, replicates: 1 }, trays));
}

/** Two trays each, by what each said of the pair that differs and of the other. */
function twos(people: readonly (readonly [boolean, boolean])[]): SameDifferentResult {
  const trays = people.flatMap(([ofDifferent, ofSame], index) => {
    const turned = index % 2 === 0;
    const differing = tray(index % 4 < 2 ? 'AB' : 'BA', ofDifferent ? BOTH : [], {
      assessor: `a${index}`,
      replicate: turned ? 1 : 2,
    });
    const alike = tray(index % 4 < 2 ? 'AA' : 'BB', ofSame ? BOTH : [], {
      assessor: `a${index}`,
      replicate: turned ? 2 : 1,
    });
    return [differing, alike];
  });
  return analyseSameDifferent(input(sameDifferentPart, trays));
}

describe('a same-different test', () => {
  test('claims no difference of arms alike above alpha by more than two errors, whatever people’s criteria', () => {
    for (const { setting, simulated, error } of pairVerdictClaims(simulatedPanel(5), 150, (name) =>
      /12 people, [24] trays, (each|alternating|even)/.test(name),
    )) {
      expect(simulated, setting).toBeLessThanOrEqual(0.05 + 2 * error);
    }
  });

  test('one tray each: Fisher’s exact test, by counting all ways to deal the pairs', () => {
    const result = alone(12, 8, 4);
    expect(result.pairs).toEqual({
      different: { answers: 12, said: 8 },
      same: { answers: 12, said: 4 },
    });
    // Sum of C(12, k) C(12, 12 - k) of C(24, 12) for k from 8 to 12.
    expect(result.test.p).toBeCloseTo((495 ** 2 + 220 ** 2 + 66 ** 2 + 12 ** 2 + 1) / 2_704_156, 12);
    expect(result.test).toMatchObject({
      method: 'fisher',
      counted: 16,
      answers: 24,
      unlike: null,
      leftOut: 0,
    });
    expect(result.finding.verdict).toBe('difference-not-shown');
    expect(result.finding.headline).toBe(
      'Eight of twelve pairs that differ were called different, and four of twelve that do not: no difference was demonstrated.',
    );
    expect(result.finding.lede).toContain('would have found a difference of d′ 1.5');
  });

  test('two trays each: McNemar’s exact test within people (11 of 1,024 ways)', () => {
    const result = twos([
      ...Array.from({ length: 9 }, () => [true, false] as const),
      [false, true],
      [true, true],
      [false, false],
    ]);
    expect(result.test.p).toBeCloseTo(11 / 1024, 14);
    expect(result.test).toMatchObject({
      method: 'mcnemar',
      unlike: { twos: 10, named: 9 },
      smallestP: 1 / 1024,
    });
    expect(result.finding.verdict).toBe('difference-shown');
    expect(result.finding.headline).toBe(
      'Ten of twelve pairs that differ were called different, and two of twelve that do not, by twelve people. Chance alone sets them so far apart 11 times in 1,000.',
    );
    expect(result.finding.lede).toMatch(/can be told apart .*d′ \d/);
  });

  test('criteria that differ between people say nothing: half always say different, half never', () => {
    const result = twos(Array.from({ length: 20 }, (_, at) => [at < 10, at < 10] as const));
    expect(result.pairs.different.said).toBe(10);
    expect(result.test).toMatchObject({ p: 1, unlike: { twos: 0, named: 0 } });
    expect(result.finding.lede).toContain('same answer, so that there is nothing to test');
  });

  test('what a cautious panel does not find is not called likeness', () => {
    const result = alone(20, 2, 1);
    expect(result.finding.lede).toContain('seldom said ‘different’');
    expect(result.finding.lede).toContain('no claim of likeness');
    expect(alone(20, 20, 19).finding.lede).toContain('nearly always said ‘different’');
  });

  test('a tray whose other one stayed unanswered is counted and not tested', () => {
    const trays = [
      tray('AB', BOTH, { assessor: 'a1', replicate: 1 }),
      tray('AA', [], { assessor: 'a1', replicate: 2 }),
      tray('BB', BOTH, { assessor: 'a2', replicate: 1 }),
      tray('BA', null, { assessor: 'a2', replicate: 2 }),
    ];
    const result = analyseSameDifferent(input(sameDifferentPart, trays));
    expect(result.test).toMatchObject({ leftOut: 1, unlike: { twos: 1, named: 1 }, p: 0.5 });
    expect(result.pairs.same).toEqual({ answers: 2, said: 1 });
    expect(result.caveats.map(({ text }) => text).join(' ')).toContain('One answer is not in the test');
  });

  test('trays 1 and 2 belong together, and 3 and 4: those of different twos are not compared', () => {
    const said = (order: string, replicate: number, different: boolean) =>
      tray(order, different ? BOTH : [], { assessor: 'a1', replicate });
    const result = analyseSameDifferent(
      input({ ...sameDifferentPart, replicates: 4 }, [
        said('AB', 1, true),
        said('AA', 2, false),
        said('BB', 3, true),
        said('BA', 4, false),
      ]),
    );
    expect(result.test.unlike).toEqual({ twos: 2, named: 1 });
    expect(result.dPrime?.weight).toBe(0.5);
  });

  test('nobody answered', () => {
    const result = analyseSameDifferent(input(sameDifferentPart, [tray('AB', null), tray('AA', null)]));
    expect(sameDifferentResult.parse(result)).toEqual(result);
    expect(result).toMatchObject({ dPrime: null, finding: { verdict: 'no-data' } });
    expect(result.power.power).toBeNull();
  });

  test('words and comments go by what was said', () => {
    const result = analyseSameDifferent(
      input({ ...sameDifferentPart, replicates: 1 }, [
        tray('AB', BOTH, { assessor: 'a1', descriptors: ['banana'], comment: 'thin' }),
        tray('AA', [], { assessor: 'a2', descriptors: ['banana'], comment: 'rich' }),
      ]),
    );
    expect(result.descriptors).toEqual({
      different: 1,
      same: 1,
      rows: [{ word: 'banana', different: 1, same: 1 }],
    });
    expect(result.comments).toEqual([
      { different: true, text: 'thin' },
      { different: false, text: 'rich' },
    ]);
  });

  test('holds to its contract for any panel, and reads the same in any order of trays', () => {
    const answer = fc.record({
      said: fc.constantFrom(true, false, null),
      confidence: fc.constantFrom('certain' as const, 'fairly-sure' as const, 'guess' as const),
    });
    fc.assert(
      fc.property(fc.array(answer, { maxLength: 30 }), fc.constantFrom(1, 2, 4), (answers, replicates) => {
        const served = answers.map(({ said, confidence }, index) =>
          tray(ORDERS[index % 4] ?? '', said === null ? null : said ? BOTH : [], {
            confidence,
            assessor: `a${Math.floor(index / replicates)}`,
            replicate: (index % replicates) + 1,
          }),
        );
        const part = { ...sameDifferentPart, replicates };
        const result = analyseSameDifferent(input(part, served));
        expect(sameDifferentResult.parse(result)).toEqual(result);
        expect(analyseSameDifferent(input(part, [...served].reverse()))).toEqual(result);
        const words = JSON.stringify([result.finding, result.caveats, result.methods]);
        expect(words).not.toMatch(/NaN|undefined|null %|Infinity|\?|almost|trend/);
      }),
      { numRuns: 40 },
    );
  });

  test('an answer that names one cup is no answer', () => {
    expect(() => analyseSameDifferent(input(sameDifferentPart, [tray('AB', [1])]))).toThrow(RangeError);
  });
});
