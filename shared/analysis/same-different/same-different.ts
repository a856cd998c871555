import type { SameDifferentPart } from '../../contracts/part.ts';
import type { SameDifferentResult } from '../../contracts/result-same-different.ts';
import { aNotAPaired } from '../../stats/discrimination/a-not-a-paired.ts';
import { fisherExact } from '../../stats/discrimination/fisher-exact.ts';
import { sameDifferentSize, type PairCounts } from '../../stats/discrimination/same-different.ts';
import {
  powerOfSameDifferent,
  smallestForSameDifferent,
  type TraysOfPairs,
} from '../../stats/discrimination/same-different-power.ts';
import { judgeTrays, type Judged } from '../choice/judge.ts';
import { byWording, confidenceFigures, orderFigures, wordsNamed } from '../choice/readings.ts';
import { servedFacts, type PartInput } from '../common/served.ts';
import { sameDifferentCaveats } from './caveats.ts';
import { sameDifferentFinding } from './finding.ts';
import { sameDifferentMethods } from './methods.ts';
import type { SameDifferentFigures } from './result.ts';

/**
 * From plan, key and answers to the result of a same-different test. One tray each: Fisher's exact test of 'different' between
 * people who had a pair that differs and people who had not. Trays in twos: McNemar's exact test within people, so that
 * neither their criteria nor how often they were asked weighs in. Pure: the same input gives the same result, in any order.
 * Errors: as judgeTrays. Source: Fisher 1935; McNemar 1947; the draw of the trays, by which both are exact whatever people's habits.
 */
export function analyseSameDifferent(input: PartInput<SameDifferentPart>): SameDifferentResult {
  const { part, number } = input;
  const judged = judgeTrays(input).map(asSaid);
  const counts = pairCounts(judged);
  const orders = orderFigures(judged, part);
  const palates = new Set(judged.map(({ assessor }) => assessor)).size;
  const said = (different: boolean) => judged.filter((one) => one.said === different).length;

  const figures: SameDifferentFigures = {
    part: number,
    kind: part.kind,
    settings: part,
    served: servedFacts(input.trays),
    pairs: counts,
    test: testOf(part, judged, counts),
    dPrime: sizeOf(part, counts),
    power: {
      assessors: palates,
      dPrime: part.dPrime,
      power: palates === 0 ? null : powerOfSameDifferent({ ...planOf(part), assessors: palates }).power,
      smallestForPlan: smallestForSameDifferent({ ...planOf(part), beta: part.beta })?.first ?? null,
    },
    // Who is right is a matter of criterion as well, so that confidence is told and not tested.
    confidence: { ...confidenceFigures(judged, 'right', true), rIndex: null },
    orders: {
      rows: [...orders.served].map(([order, answers]) => ({
        order,
        served: answers.length,
        counted: answers.filter(({ counted }) => counted).length,
      })),
      balanced: orders.balanced,
      reading: orders.reading,
    },
    descriptors: {
      different: said(true),
      same: said(false),
      rows: wordsNamed(judged, input.words)
        .map(({ word, answers }) => {
          const different = answers.filter((one) => isDifferent(one)).length;
          return { word, different, same: answers.length - different };
        })
        .sort((a, b) => b.different - a.different || b.same - a.same || (a.word < b.word ? -1 : 1)),
    },
    comments: byWording(
      judged
        .filter(({ comment }) => comment !== '')
        .map((one) => ({ different: one.said, text: one.comment })),
      ({ different }) => (different ? 0 : 1),
    ),
  };
  return {
    ...figures,
    finding: sameDifferentFinding(figures),
    caveats: sameDifferentCaveats(input, figures),
    methods: sameDifferentMethods(figures),
  };
}

interface Said extends Judged {
  /** Was the pair called different? */
  said: boolean;
  /** Was it? */
  differs: boolean;
}

// Places of the kind: the same, different.
const DIFFERENT = 1;
const isDifferent = ({ place }: Judged): boolean => place === DIFFERENT;
const asSaid = (judged: Judged): Said => ({
  ...judged,
  said: isDifferent(judged),
  differs: judged.rightPlace === DIFFERENT,
});

function pairCounts(judged: readonly Said[]): PairCounts {
  const of = (differs: boolean) => judged.filter((one) => one.differs === differs);
  const count = (answers: readonly Said[]) => ({
    answers: answers.length,
    said: answers.filter(({ said }) => said).length,
  });
  return { different: count(of(true)), same: count(of(false)) };
}

const planOf = ({ replicates, alpha, dPrime }: SameDifferentPart) => ({
  trays: replicates as TraysOfPairs,
  alpha,
  dPrime,
});

/** Trays 1 and 2 of a person belong together, and 3 and 4. */
const twoOf = ({ assessor, replicate }: Judged): string => `${assessor} ${Math.ceil(replicate / 2)}`;

function testOf(
  { replicates, alpha }: SameDifferentPart,
  judged: readonly Said[],
  { different, same }: PairCounts,
): SameDifferentFigures['test'] {
  const shared = {
    side: 'greater' as const,
    answers: judged.length,
    counted: judged.filter(({ counted }) => counted).length,
    alpha,
  };
  if (replicates === 1) {
    const p = (yes: number, no: number): number =>
      fisherExact({
        first: { yes, n: different.answers },
        second: { yes: no, n: same.answers },
        side: 'greater',
      }).p;
    const all = different.said + same.said;
    const most = Math.min(different.answers, all);
    return {
      ...shared,
      method: 'fisher',
      unlike: null,
      leftOut: 0,
      p: p(different.said, same.said),
      smallestP: p(most, all - most),
    };
  }
  const twos = [...Map.groupBy(judged, twoOf).values()];
  const whole = twos.filter((trays) => trays.length === 2 && trays[0]?.differs !== trays[1]?.differs);
  const unlike = whole.filter(([one, other]) => one?.said !== other?.said);
  // Of two answers that differ, both are right or both are wrong.
  const named = unlike.filter(([one]) => one?.counted).length;
  const p = (right: number): number =>
    aNotAPaired({ right, reversed: unlike.length - right, side: 'greater' }).p;
  return {
    ...shared,
    method: 'mcnemar',
    unlike: { twos: unlike.length, named },
    leftOut: judged.length - 2 * whole.length,
    p: p(named),
    smallestP: p(unlike.length),
  };
}

/** Limits take one pair of each sort from a palate: more of them may be more alike than those of different people. */
function sizeOf(
  { replicates, alpha }: SameDifferentPart,
  counts: PairCounts,
): SameDifferentFigures['dPrime'] {
  if (counts.different.answers === 0 || counts.same.answers === 0) return null;
  const weight = replicates === 4 ? 1 / 2 : 1;
  const { estimate, standardError, level, lower, upper, criterion } = sameDifferentSize({
    ...counts,
    level: 1 - 2 * alpha,
    weight,
  });
  return { estimate, standardError, level, lower, upper, criterion, weight };
}
