import { analyseTriangle, type ServedTray, type TriangleInput } from '@oddglass/shared/analysis/triangle.ts';
import { readTrianglePlan } from '@oddglass/shared/analysis/triangle-plan.ts';
import { pInWords, percent, timesIn } from '@oddglass/shared/analysis/words.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { settings } from '../support/factories.ts';

const ARMS = ['00000000-0000-4000-8000-00000000000a', '00000000-0000-4000-8000-00000000000b'] as const;
const ORDERS = ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'];

function tray(index: number, right: boolean | null, assessor = `seat ${index}`, replicate = 1): ServedTray {
  const order = ORDERS[index % 6]!;
  const odd =
    [...order].findIndex((letter) => [...order].filter((other) => other === letter).length === 1) + 1;
  const position = right ? odd : (odd % 3) + 1;
  const answer =
    right === null
      ? null
      : ({
          position,
          confidence: right ? 'certain' : 'guess',
          descriptors: right ? ['banana'] : [],
          comment: '',
        } as const);
  return {
    assessor,
    replicate,
    arms: [...order].map((letter) => (letter === 'A' ? ARMS[0] : ARMS[1])),
    answer: answer && { ...answer, descriptors: [...answer.descriptors] },
  };
}

function input(trays: ServedTray[], change: Partial<TriangleInput['plan']> = {}): TriangleInput {
  const arms = ARMS.map((id, index) => ({ id, name: `Arm ${index}`, differs: 'x' }));
  return {
    session: {
      title: 'T',
      trialTitle: 'Trial',
      question: 'Q',
      factor: 'F',
      demo: false,
      arms,
      blinding: 'double',
      fingerprint: 'AAAA·BBBB·CCCC',
      root: 'a'.repeat(64),
      revealedAt: '2031-03-04T20:00:00.000Z',
    },
    plan: { ...settings({ arms } as never), armIds: [...ARMS], ...change },
    trays,
    deviations: [],
  };
}

describe('the result document', () => {
  test('holds to its contract for any panel, and reads the same in any order of trays', () => {
    fc.assert(
      fc.property(
        fc.array(fc.constantFrom(true, false, null), { maxLength: 30 }),
        fc.integer({ min: 1, max: 4 }),
        fc.constantFrom('difference', 'similarity'),
        (answers, replicates, aim) => {
          const trays = answers.map((right, index) =>
            tray(index, right, `seat ${Math.floor(index / replicates)}`, (index % replicates) + 1),
          );
          const result = analyseTriangle(input(trays, { replicates, aim } as never));
          expect(resultDocument.parse(result)).toEqual(result);
          expect(analyseTriangle(input([...trays].reverse(), { replicates, aim } as never))).toEqual(result);
          const words = JSON.stringify([
            result.finding,
            result.caveats,
            result.confidence.reading,
            result.replicates,
          ]);
          expect(words).not.toMatch(/NaN|undefined|null %|Infinity|the same(?! palate)|almost|trend/);
        },
      ),
      { numRuns: 150 },
    );
  });

  test('the verdict follows p and alpha and nothing else', () => {
    for (let correct = 0; correct <= 12; correct++) {
      const { finding, test: figures } = analyseTriangle(
        input(Array.from({ length: 12 }, (_, index) => tray(index, index < correct))),
      );
      expect(finding.verdict).toBe(figures.p <= 0.05 ? 'difference-shown' : 'difference-not-shown');
      // Published critical number for 12 assessors at 5 %: 8 (ISO 4120, table of minimum correct answers, from memory).
      expect(finding.verdict === 'difference-shown').toBe(correct >= 8);
    }
  });

  test('relabelling the arms changes no figure', () => {
    const trays = Array.from({ length: 12 }, (_, index) => tray(index, index < 7));
    const swapped = trays.map((one) => ({
      ...one,
      arms: one.arms.map((arm) => (arm === ARMS[0] ? ARMS[1] : ARMS[0])),
    }));
    const [a, b] = [analyseTriangle(input(trays)), analyseTriangle(input(swapped))];
    expect({ ...b, orders: null, methods: null }).toEqual({ ...a, orders: null, methods: null });
  });

  test('all right has no upper limit of d-prime; fewer right than by guessing asks for a look at labels', () => {
    const all = analyseTriangle(input(Array.from({ length: 6 }, (_, index) => tray(index, true))));
    expect(all.dPrime).toMatchObject({ estimate: null, upper: null });
    const few = analyseTriangle(input(Array.from({ length: 12 }, (_, index) => tray(index, index < 1))));
    expect(few.finding.lede).toMatch(/labels or serving/);
  });

  test('an odd tray is refused', () => {
    const wrong = { ...tray(0, true), arms: [ARMS[0], ARMS[0], ARMS[0]] };
    expect(() => analyseTriangle(input([wrong]))).toThrow(RangeError);
  });
});

describe('the plan reading', () => {
  const arms = [
    { id: ARMS[0], name: 'Cool', volumeMl: 700, abv: 5 },
    { id: ARMS[1], name: 'Warm', volumeMl: 800, abv: 5 },
  ];
  const plan = (change = {}) =>
    readTrianglePlan({ ...settings({ arms: arms as never } as never), ...change }, arms);

  test('twelve assessors, one tray: critical number 8, power 0.63 at half discriminators (exact; reference power-triangle-12)', () => {
    const reading = plan();
    expect(reading).toMatchObject({ answers: 12, critical: 8 });
    expect(reading.power).toBeCloseTo(0.631520714435, 10);
    // min-n-triangle-grid: alpha 0.05, beta 0.2, pd 0.5 -> 16 first, 16 stable.
    expect(reading.smallestAssessors).toEqual({ first: 16, stable: 16 });
  });
  test('liquid by arm, and what is short', () => {
    const { liquid, warnings } = plan();
    expect(liquid.map(({ cups, needMl, enough }) => ({ cups, needMl, enough }))).toEqual([
      { cups: 18, needMl: 720, enough: false },
      { cups: 18, needMl: 720, enough: true },
    ]);
    expect(warnings.join(' ')).toMatch(/Cool: the plan needs 720 mL, 700 mL are left/);
  });
  test('ethanol: 3 cups of 40 mL at 5 % hold 4.7 g; unknown stays unknown', () => {
    // 120 mL x 5 % x 0.789 g/mL, density of ethanol at 20 °C as in the reference case ethanol-grams.
    expect(plan().ethanolGrams).toBeCloseTo(4.734, 10);
    expect(
      readTrianglePlan(settings({ arms: arms as never } as never), [arms[0]!, { ...arms[1]!, abv: null }])
        .ethanolGrams,
    ).toBeNull();
  });
  test('a panel too small for any significant result is told so', () => {
    expect(plan({ assessors: 2 }).critical).toBeNull();
    expect(plan({ assessors: 2 }).sayings.join(' ')).toMatch(/can show nothing/);
  });
  test('replicates are not counted as people', () => {
    const reading = plan({ replicates: 4, cupMl: 5 });
    expect(reading.answers).toBe(48);
    expect(reading.powerPerPerson).toBeLessThan(reading.power);
    expect(plan({ replicates: 4, aim: 'similarity' }).answers).toBe(12);
  });
});

test('numbers for reading claim nothing that was not reached', () => {
  expect(['0.0001', 0.0004, 0.004, 0.9999, 1].map((p) => pInWords(Number(p)))).toEqual([
    '< 0.001',
    '< 0.001',
    '0.004',
    '> 0.999',
    '1.000',
  ]);
  expect([0, 0.001, 0.5, 0.999, 1].map(percent)).toEqual([
    '0 %',
    'less than 1 %',
    '50 %',
    'more than 99 %',
    '100 %',
  ]);
  expect([0.0001, 0.001, 0.0039, 0.0976, 0.2, 1].map(timesIn)).toEqual([
    'less than once in 1,000 times',
    'once in 1,000 times',
    '4 times in 1,000',
    '98 times in 1,000',
    '20 times in 100',
    '100 times in 100',
  ]);
});
