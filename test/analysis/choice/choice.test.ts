import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { choiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { confidence } from '@oddglass/shared/contracts/ballot.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  ARMS,
  input,
  ORDERS,
  PARTS,
  rightPlaces,
  tray,
  trays,
  wrongPlaces,
  type PartName,
} from './choice-input.ts';

const NAMES = Object.keys(PARTS) as PartName[];
const swap = (order: string): string => order.replace(/[AB]/g, (letter) => (letter === 'A' ? 'B' : 'A'));

describe('the result of a choice', () => {
  for (const name of NAMES) {
    test(`${name}: holds to its contract for any panel, and reads the same in any order of trays`, () => {
      const answer = fc.record({
        right: fc.constantFrom(true, false, null),
        confidence: fc.constantFrom(...confidence.options),
        comment: fc.constantFrom('', 'thin', 'rich'),
      });
      fc.assert(
        fc.property(
          fc.array(answer, { maxLength: 30 }),
          fc.integer({ min: 1, max: 4 }),
          fc.constantFrom('difference' as const, 'similarity' as const),
          (answers, replicates, aim) => {
            const served = answers.map(({ right, ...said }, index) => {
              const order = ORDERS[name][index % ORDERS[name].length] ?? '';
              const chosen = right ? rightPlaces(name, order) : wrongPlaces(name, order);
              return tray(order, right === null ? null : chosen, {
                ...said,
                assessor: `a${Math.floor(index / replicates)}`,
                replicate: (index % replicates) + 1,
                descriptors: right ? ['banana'] : [],
              });
            });
            const part = { ...PARTS[name], replicates, aim };
            const result = analyseChoice(input(part, served));
            expect(choiceResult.parse(result)).toEqual(result);
            expect(analyseChoice(input(part, [...served].reverse()))).toEqual(result);
            const words = JSON.stringify([
              result.finding,
              result.caveats,
              result.methods,
              result.confidence.reading,
              result.positions.reading,
              result.replicates,
            ]);
            expect(words).not.toMatch(/NaN|undefined|null %|Infinity|\?|the same(?! palate)|almost|trend/);
          },
        ),
        { numRuns: 60 },
      );
    });

    test(`${name}: judges every answer to every order by the cups`, () => {
      for (const order of ORDERS[name]) {
        const cups = order.replace(/\(.\)/, '').length;
        const right = rightPlaces(name, order);
        const places = Array.from({ length: cups }, (_, index) => index + 1);
        const picked = name === 'tetrad' || name === 'two-out-of-five' ? 2 : 1;
        const choices =
          picked === 2
            ? places.flatMap((one) => places.filter((other) => other > one).map((other) => [one, other]))
            : places.map((one) => [one]);
        for (const chosen of choices) {
          const letters = order.replace(/\(.\)/, '');
          // Either pair of alike cups is the right way to halve four.
          const isRight =
            name === 'tetrad'
              ? letters[(chosen[0] ?? 0) - 1] === letters[(chosen[1] ?? 0) - 1]
              : chosen.join() === right.join();
          const result = analyseChoice(input(PARTS[name], [tray(order, chosen)]));
          expect([order, chosen, result.test.counted]).toEqual([order, chosen, isRight ? 1 : 0]);
          expect(result.orders.rows.find((row) => row.order === order)).toEqual({
            order,
            served: 1,
            counted: isRight ? 1 : 0,
          });
        }
      }
    });
  }

  test('relabelling the arms changes no figure of a test without direction of its own', () => {
    for (const name of ['triangle', 'duo-trio', 'tetrad', 'two-out-of-five'] as const) {
      const served = ORDERS[name].flatMap((order, index) => [
        tray(order, rightPlaces(name, order), { assessor: `r${index}` }),
        tray(order, wrongPlaces(name, order), { assessor: `w${index}` }),
      ]);
      const swapped = ORDERS[name].flatMap((order, index) => [
        tray(swap(order), rightPlaces(name, order), { assessor: `r${index}` }),
        tray(swap(order), wrongPlaces(name, order), { assessor: `w${index}` }),
      ]);
      const [a, b] = [served, swapped].map((list) => analyseChoice(input(PARTS[name], list)));
      expect({ ...b, orders: null, methods: null }).toEqual({ ...a, orders: null, methods: null });
    }
  });

  test('a pair without a direction mirrors when its arms change places', () => {
    const served = trays('open-pair', 16, 12);
    const mirrored = served.map((one, index) => {
      const order = ORDERS['open-pair'][index % 2] ?? '';
      return tray(
        swap(order),
        index < 12 ? rightPlaces('open-pair', order) : wrongPlaces('open-pair', order),
        {
          assessor: one.assessor,
        },
      );
    });
    const [a, b] = [served, mirrored].map((list) => analyseChoice(input(PARTS['open-pair'], list)));
    expect(b?.test.p).toBe(a?.test.p);
    expect(b?.dPrime?.estimate).toBeCloseTo(-(a?.dPrime?.estimate ?? NaN), 12);
    expect(b?.dPrime?.lower).toBeCloseTo(-(a?.dPrime?.upper ?? NaN), 8);
    expect(a?.finding.headline).toMatch(/^Twelve of 16 named Cool as stronger in “bitter”/);
    expect(b?.finding.headline).toMatch(/^Twelve of 16 named Warm as stronger in “bitter”/);
  });

  test('only a test that names an attribute says in which arm there was more of it', () => {
    for (const name of NAMES) {
      const result = analyseChoice(input(PARTS[name], trays(name, 12, 11)));
      expect(result.finding.verdict).toBe('difference-shown');
      const named = name === 'three-afc' || name === 'directional-pair' || name === 'open-pair';
      expect(result.stronger !== null).toBe(named);
      // A limit of a share may be written as 'more than 99 %'.
      const said = (result.finding.headline + result.finding.lede).replace(/more than \d+ %/g, '');
      expect(/stronger|strongest|more /.test(said)).toBe(named);
    }
    const afc = analyseChoice(input(PARTS['three-afc'], trays('three-afc', 12, 11)));
    expect(afc.stronger?.rows).toEqual([
      { armId: ARMS[0], answers: 1 },
      { armId: ARMS[1], answers: 11 },
    ]);
    expect(afc.finding.lede).toMatch(/^Warm is perceptibly stronger in “bitter” than Cool/);
  });

  test('right answers of a duo-trio stand by the arm that was the reference', () => {
    const served = ORDERS['duo-trio'].map((order, index) =>
      tray(order, order.startsWith('(A)') ? rightPlaces('duo-trio', order) : wrongPlaces('duo-trio', order), {
        assessor: `a${index}`,
      }),
    );
    expect(analyseChoice(input(PARTS['duo-trio'], served)).references).toEqual([
      { armId: ARMS[0], answers: 2, counted: 2 },
      { armId: ARMS[1], answers: 2, counted: 0 },
    ]);
    const constant = { ...PARTS['duo-trio'], reference: 'constant' as const };
    expect(analyseChoice(input(constant, served.slice(0, 2))).references).toHaveLength(1);
  });

  test('places: who chose where, and where the right cup stood', () => {
    const served = [tray('AAB', [3]), tray('BAA', [3]), tray('ABB', [1]), tray('ABA', [2])];
    expect(analyseChoice(input(PARTS.triangle, served)).positions.rows).toEqual([
      { place: 'left', chosen: 1, rightThere: 2 },
      { place: 'middle', chosen: 1, rightThere: 1 },
      { place: 'right', chosen: 2, rightThere: 1 },
    ]);
    // Naming the third and fourth halves four cups like naming the first and second.
    const pairs = [tray('AABB', [3, 4]), tray('ABBA', [1, 2]), tray('BAAB', [2, 3])];
    expect(analyseChoice(input(PARTS.tetrad, pairs)).positions.rows).toEqual([
      { place: 'first with second', chosen: 2, rightThere: 1 },
      { place: 'first with third', chosen: 0, rightThere: 0 },
      { place: 'first with fourth', chosen: 1, rightThere: 2 },
    ]);
    // Of five, the other three are no second way to name the two.
    const fives = [tray('AABBB', [1, 2]), tray('BABBA', [2, 5]), tray('AAABB', [4, 2])];
    const { rows } = analyseChoice(input(PARTS['two-out-of-five'], fives)).positions;
    expect(rows).toHaveLength(10);
    expect(rows.filter(({ chosen, rightThere }) => chosen > 0 || rightThere !== 0)).toEqual([
      { place: 'first with second', chosen: 1, rightThere: 1 },
      { place: 'second with fourth', chosen: 1, rightThere: 0 },
      { place: 'second with fifth', chosen: 1, rightThere: 1 },
      { place: 'fourth with fifth', chosen: 0, rightThere: 1 },
    ]);
  });

  test('all right has no upper limit of d-prime; fewer right than by guessing asks for a look at labels', () => {
    for (const name of NAMES) {
      const all = analyseChoice(input(PARTS[name], trays(name, 6, 6)));
      expect(all.dPrime).toMatchObject({ estimate: null, upper: null });
    }
    // One of twelve is what guessing gives in one tasting of 19; none of twelve in one of 130.
    const one = analyseChoice(input(PARTS.triangle, trays('triangle', 12, 1)));
    expect(one.finding.lede).not.toMatch(/labels or serving/);
    const few = analyseChoice(input(PARTS.triangle, trays('triangle', 12, 0)));
    expect(few.finding.lede).toMatch(/labels or serving\.$/);
    expect(few.finding.lede).not.toMatch(/0 or more|up to 0 %/);
    expect(JSON.stringify(few.caveats)).not.toMatch(/up to 0 %/);
    const turned = analyseChoice(input(PARTS['directional-pair'], trays('directional-pair', 12, 1)));
    expect(turned.finding).toMatchObject({ verdict: 'difference-not-shown' });
    expect(turned.finding.lede).toMatch(/direction that was expected wrongly/);
  });

  test('similarity counts the first tray of each person, and both sides of a pair without a direction', () => {
    const served = Array.from({ length: 12 }, (_, index) => {
      const order = ORDERS.triangle[index % 6] ?? '';
      const first = index % 2 === 0;
      // Wrong at first, right at the second tray.
      const chosen = first ? wrongPlaces('triangle', order) : rightPlaces('triangle', order);
      return tray(order, chosen, { assessor: `a${Math.floor(index / 2)}`, replicate: first ? 1 : 2 });
    });
    const aim = { aim: 'similarity' as const, replicates: 2 };
    expect(analyseChoice(input({ ...PARTS.triangle, ...aim }, served)).similarity).toMatchObject({
      counted: 0,
      answers: 6,
    });
    const pair = { ...PARTS['open-pair'], aim: 'similarity' as const };
    const one = analyseChoice(input(pair, trays('open-pair', 40, 5))).similarity;
    const other = analyseChoice(input(pair, trays('open-pair', 40, 35))).similarity;
    expect(one?.counted).toBe(35);
    expect(one?.p).toBe(other?.p);
    expect(analyseChoice(input(pair, trays('open-pair', 40, 20))).finding.verdict).toBe('similarity-shown');
  });

  test('similarity of a test with a direction is claimed for that direction only', () => {
    const part = { ...PARTS['directional-pair'], aim: 'similarity' as const, beta: 0.05 };
    const { finding, caveats } = analyseChoice(input(part, trays('directional-pair', 40, 20)));
    expect(finding.verdict).toBe('similarity-shown');
    expect(finding.lede).toContain(
      'the share of discriminators who find Warm stronger in “bitter” than Cool is at most',
    );
    const turned = analyseChoice(input(part, trays('directional-pair', 12, 1))).finding;
    expect(turned.verdict).toBe('similarity-not-shown');
    expect(turned.headline).toMatch(/fewer than guessing explains: nothing can be said of likeness\.$/);
    expect(turned.lede).toMatch(/a difference the other way round\.$/);
    expect(JSON.stringify(caveats)).toMatch(/other way round cannot show/);
  });

  test('confidence: the R-index compares every right answer with every other, ties half', () => {
    const said = (right: boolean, sure: 'certain' | 'fairly-sure' | 'guess', index: number) => {
      const order = ORDERS.triangle[index % 6] ?? '';
      const chosen = right ? rightPlaces('triangle', order) : wrongPlaces('triangle', order);
      return tray(order, chosen, { assessor: `a${index}`, confidence: sure });
    };
    const served = [
      said(true, 'certain', 0),
      said(true, 'fairly-sure', 1),
      said(true, 'guess', 2),
      said(false, 'fairly-sure', 3),
      said(false, 'guess', 4),
    ];
    // By hand, of 6 pairs: certain beats both (2), fairly sure ties one and beats one (1.5), a guess ties one (0.5).
    expect(analyseChoice(input(PARTS.triangle, served)).confidence.rIndex).toMatchObject({
      rightAnswers: 3,
      otherAnswers: 2,
      estimate: 4 / 6,
    });
    // All right, and all as a guess: nothing to compare.
    expect(analyseChoice(input(PARTS.triangle, served.slice(0, 3))).confidence.rIndex).toBeNull();
    expect(analyseChoice(input(PARTS.triangle, trays('triangle', 6, 3))).confidence.rIndex).toBeNull();
  });

  test('deviations, single blinding, gaps and a small panel come as caveats', () => {
    const served = [...trays('triangle', 5, 3), tray('AAB', null, { assessor: 'late' })];
    const base = input(PARTS.triangle, served);
    const { caveats } = analyseChoice({
      ...base,
      session: { ...base.session, blinding: 'single' },
      deviations: [
        { armId: ARMS[1], on: '2031-02-01', note: 'two degrees warmer for a night' },
        { armId: '00000000-0000-4000-8000-00000000000c', on: '2031-02-01', note: 'not tasted here' },
      ],
    });
    const text = caveats.map((one) => `${one.from} ${one.arm ?? ''} ${one.text}`).join('\n');
    expect(text).toMatch(/deviation Warm two degrees warmer/);
    expect(text).not.toMatch(/not tasted here/);
    expect(text).toMatch(/Single-blind/);
    expect(text).toMatch(/Five people answered instead of the 12 planned/);
    expect(text).toMatch(/One tray at taken seats stayed unanswered/);
    // 3^-5 = 0.0041.
    expect(text).toMatch(/smallest p this test could give is 0\.0041/);
    expect(text).toMatch(/not in what or which way/);
  });

  test('a deviation that was written down after the reveal is marked, whatever day it is dated to', () => {
    const base = input(PARTS.triangle, trays('triangle', 12, 6));
    const noted = { armId: ARMS[1], on: '2031-02-01', note: 'two degrees warmer for a night' };
    const textOf = (deviation: typeof noted & { notedAfterReveal?: string }) =>
      analyseChoice({ ...base, deviations: [deviation] }).caveats.find(({ from }) => from === 'deviation')
        ?.text;
    expect(textOf(noted)).toBe('two degrees warmer for a night');
    expect(textOf({ ...noted, notedAfterReveal: '2031-03-05' })).toBe(
      'two degrees warmer for a night (Noted on 2031-03-05, after the reveal.)',
    );
  });

  test.each([
    [0, 0, 'No account opened the key before the reveal.'],
    [1, 0, 'One account opened the key before the reveal.'],
    [
      1,
      1,
      'One account opened the key before the reveal; it had been invited by a host after the plan was sealed.',
    ],
    [
      3,
      2,
      'Three accounts opened the key before the reveal; two of them had been invited by a host after the plan was sealed.',
    ],
    [
      2,
      2,
      'Two accounts opened the key before the reveal; both of them had been invited by a host after the plan was sealed.',
    ],
  ])('%d accounts with the key, %d of them invited late, are told', (accounts, invited, text) => {
    const base = input(PARTS.triangle, trays('triangle', 12, 6));
    const keyReaders = { accounts, invited };
    const { caveats } = analyseChoice({ ...base, session: { ...base.session, keyReaders } });
    expect(caveats.filter(({ from }) => from === 'blinding').map((one) => one.text)).toEqual([text]);
    expect(analyseChoice(base).caveats.map(({ from }) => from)).not.toContain('blinding');
  });

  test('a tray that its kind cannot hold, and an answer to no cup of it, are refused', () => {
    expect(() => analyseChoice(input(PARTS.triangle, [tray('AAA', [1])]))).toThrow(RangeError);
    expect(() => analyseChoice(input(PARTS.tetrad, [tray('AABB', [1])]))).toThrow(RangeError);
    expect(() => analyseChoice(input(PARTS['three-afc'], [tray('ABB', [1])]))).toThrow(RangeError);
    expect(() => analyseChoice(input(PARTS['directional-pair'], [tray('AB', [7])]))).toThrow(RangeError);
    expect(() => analyseChoice(input(PARTS['directional-pair'], [tray('AB', [])]))).toThrow(RangeError);
  });
});
