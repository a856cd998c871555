import type { Confidence } from '../contracts/ballot.ts';
import type { Caveat, TriangleResult } from '../contracts/result.ts';
import { criticalNumber } from '../stats/discrimination/critical-number.ts';
import { dPrimeInterval } from '../stats/discrimination/d-prime.ts';
import { exactP } from '../stats/discrimination/exact-p.ts';
import { GUESS_RATE } from '../stats/discrimination/guessing.ts';
import { powerOfDifference, smallestForDifference } from '../stats/discrimination/power.ts';
import {
  clopperPearson,
  shareOfDiscriminators,
  wilson,
} from '../stats/discrimination/proportion-interval.ts';
import { replicatedProportion } from '../stats/discrimination/replicated.ts';
import {
  powerOfSimilarity,
  similarityTest,
  smallestForSimilarity,
} from '../stats/discrimination/similarity.ts';
import { choiceBias } from '../stats/choice-bias.ts';
import { descriptor } from '../vocabulary/descriptors.ts';
import { triangleCaveats } from './triangle-caveats.ts';
import { triangleFinding } from './triangle-finding.ts';
import { triangleMethods } from './triangle-methods.ts';
import { inWords, listed, pEquals } from './words.ts';

/** One tray as served: arms left to right, and what was answered. */
export interface ServedTray {
  /** Any label that is the same for the trays of one person. */
  assessor: string;
  replicate: number;
  /** Arm ids, left to right. */
  arms: string[];
  answer: {
    /** Position chosen as the odd one, 1 to 3. */
    position: number;
    confidence: Confidence;
    descriptors: string[];
    comment: string;
  } | null;
}

export interface TriangleInput {
  session: TriangleResult['session'];
  plan: TriangleResult['plan'];
  /** Trays of the seats that were taken. */
  trays: ServedTray[];
  deviations: { armId: string; on: string; note: string }[];
}

interface Judged extends ServedTray {
  answer: NonNullable<ServedTray['answer']>;
  /** Position of the odd cup, 1 to 3. */
  odd: number;
  right: boolean;
  /** Order in letters: A is the first arm of the session. */
  order: string;
}

const ORDERS = ['AAB', 'ABA', 'BAA', 'BBA', 'BAB', 'ABB'];
const CONFIDENCES: readonly Confidence[] = ['certain', 'fairly-sure', 'guess'];

/**
 * From plan, key and answers to the result document of a triangle session: every figure with its interval,
 * every caveat with its reason. Pure: the same input gives the same document, in any order of trays.
 *
 * Source of the test: ISO 4120 (triangle test), exact binomial.
 */
export function analyseTriangle({ session, plan, trays, deviations }: TriangleInput): TriangleResult {
  const letters = new Map(session.arms.map(({ id }, index) => [id, index === 0 ? 'A' : 'B']));
  const judged = trays.flatMap((tray) =>
    tray.answer ? [judge({ ...tray, answer: tray.answer }, letters)] : [],
  );
  const guessRate = GUESS_RATE.triangle;
  const n = judged.length;
  const correct = judged.filter(({ right }) => right).length;
  const people = Map.groupBy(judged, ({ assessor }) => assessor);
  const level = 1 - 2 * plan.alpha;

  // Sorted, so that sums come out the same to the last bit in whatever order the trays are handed in.
  const clusters = [...people.values()]
    .map((answers) => ({ answers: answers.length, correct: answers.filter(({ right }) => right).length }))
    .sort((a, b) => a.answers - b.answers || a.correct - b.correct);
  const repeated = clusters.some(({ answers }) => answers > 1);
  const replicated = repeated ? replicatedProportion({ clusters, level }) : null;
  const limits = replicated ?? clopperPearson({ correct, n, level });
  const share =
    n === 0
      ? null
      : shareOfDiscriminators({ correct, n, lower: limits.lower, upper: limits.upper, guessRate });
  const dPrime =
    n === 0
      ? null
      : dPrimeInterval({
          test: 'triangle',
          correct,
          n,
          lower: limits.lower,
          upper: limits.upper,
          effectiveN: replicated?.intervalN ?? n,
        });

  const critical = n === 0 ? null : criticalNumber({ n, alpha: plan.alpha, guessRate });
  const test: TriangleResult['test'] = {
    correct,
    answers: n,
    expectedByGuessing: n * guessRate,
    p: exactP({ correct, n, guessRate }),
    critical,
    alpha: plan.alpha,
    smallestP: exactP({ correct: n, n, guessRate }),
  };
  const similarity = plan.aim === 'similarity' ? judgeSimilarity(judged, plan, guessRate) : null;
  const taken = new Set(trays.map(({ assessor }) => assessor));

  const result: Omit<TriangleResult, 'finding' | 'caveats' | 'methods'> = {
    format: 'oddglass-result-1',
    kind: 'triangle',
    session,
    plan,
    served: {
      seated: taken.size,
      assessors: people.size,
      answers: n,
      unanswered: trays.length - n,
    },
    test,
    similarity,
    proportionCorrect: n === 0 ? null : correct / n,
    share: share && {
      estimate: share.estimate,
      untruncated: share.untruncated,
      level,
      lower: share.lower,
      upper: share.upper,
    },
    dPrime: dPrime && {
      estimate: dPrime.estimate,
      standardError: dPrime.standardError,
      level,
      lower: dPrime.lower,
      upper: dPrime.upper,
    },
    power: readPower(plan, n, people.size, guessRate),
    confidence: readConfidence(judged),
    orders: readOrders(judged),
    positions: readPositions(judged),
    descriptors: readDescriptors(judged),
    comments: judged
      .filter(({ answer }) => answer.comment !== '')
      .map(({ right, answer }) => ({ right, text: answer.comment }))
      // By wording, so that the order of rows tells nothing about seats.
      .sort((a, b) => Number(b.right) - Number(a.right) || (a.text < b.text ? -1 : 1)),
    replicates: replicated && readReplicates(clusters, replicated),
  };
  const caveats: Caveat[] = triangleCaveats(result, deviations);
  return { ...result, finding: triangleFinding(result), caveats, methods: triangleMethods(result) };
}

function judge(
  tray: ServedTray & { answer: NonNullable<ServedTray['answer']> },
  letters: Map<string, string>,
): Judged {
  const order = tray.arms.map((arm) => letters.get(arm) ?? '?').join('');
  const odd = tray.arms.findIndex((arm) => tray.arms.filter((other) => other === arm).length === 1) + 1;
  if (tray.arms.length !== 3 || odd === 0 || !ORDERS.includes(order)) {
    throw new RangeError(`a triangle tray holds two cups of one arm and one of the other, not ${order}`);
  }
  return { ...tray, order, odd, right: tray.answer.position === odd };
}

/** Chance that the answers given show what was planned: a difference of that size, or similarity if there is none. */
function readPower(
  plan: TriangleResult['plan'],
  answers: number,
  people: number,
  guessRate: number,
): TriangleResult['power'] {
  const { alpha, beta, meaningfulShare, aim } = plan;
  if (aim === 'similarity') {
    const risks = { beta, pdMax: meaningfulShare, guessRate };
    return {
      answers: people,
      meaningfulShare,
      power: people === 0 ? null : powerOfSimilarity({ n: people, ...risks }).power,
      smallestForPlan: smallestForSimilarity({ alpha, ...risks })?.first ?? null,
    };
  }
  const planned = { alpha, pd: meaningfulShare, guessRate };
  return {
    answers,
    meaningfulShare,
    power: answers === 0 ? null : powerOfDifference({ n: answers, ...planned }).power,
    smallestForPlan: smallestForDifference({ beta, ...planned })?.first ?? null,
  };
}

/** Similarity rests on one answer per person: the first tray each answered. */
function judgeSimilarity(
  judged: Judged[],
  plan: TriangleResult['plan'],
  guessRate: number,
): NonNullable<TriangleResult['similarity']> {
  const first = [...Map.groupBy(judged, ({ assessor }) => assessor).values()].map((answers) =>
    answers.reduce((earliest, answer) => (answer.replicate < earliest.replicate ? answer : earliest)),
  );
  const correct = first.filter(({ right }) => right).length;
  const { meaningfulShare, beta } = plan;
  const { p, mostCorrect, upperShare } = similarityTest({
    correct,
    n: first.length,
    beta,
    pdMax: meaningfulShare,
    guessRate,
  });
  return { correct, answers: first.length, mostCorrect, p, beta, meaningfulShare, upperShare };
}

function readConfidence(judged: Judged[]): TriangleResult['confidence'] {
  const rows = CONFIDENCES.map((confidence) => {
    const answers = judged.filter(({ answer }) => answer.confidence === confidence);
    const right = answers.filter((answer) => answer.right).length;
    const { lower, upper } = wilson({ correct: right, n: answers.length, level: 0.95 });
    return { confidence, right, answers: answers.length, lower, upper };
  });
  const words: Record<Confidence, string> = {
    certain: 'given as certain',
    'fairly-sure': 'given as fairly sure',
    guess: 'given as a guess',
  };
  const parts = rows
    .filter(({ answers }) => answers > 0)
    .map(({ confidence, right, answers }) => `${inWords(right)} of ${inWords(answers)} ${words[confidence]}`);
  const reading =
    parts.length === 0
      ? 'Nobody answered.'
      : `Right were ${listed(parts)}. How sure somebody is was asked after the choice and changes nothing in the test.`;
  return { rows, reading };
}

function readOrders(judged: Judged[]): TriangleResult['orders'] {
  const rows = ORDERS.map((order) => {
    const served = judged.filter((answer) => answer.order === order);
    return { order, served: served.length, right: served.filter(({ right }) => right).length };
  });
  const counts = rows.map(({ served }) => served);
  const spread = Math.max(...counts) - Math.min(...counts);
  const balanced = spread <= 1;
  const reading = balanced
    ? 'The six orders were answered equally often, to within one.'
    : `The six orders were answered between ${Math.min(...counts)} and ${Math.max(...counts)} times: seats that stayed empty or trays left unanswered upset the balance.`;
  return { rows, balanced, reading };
}

function readPositions(judged: Judged[]): TriangleResult['positions'] {
  const at = (of: (answer: Judged) => number) =>
    [1, 2, 3].map((position) => judged.filter((answer) => of(answer) === position).length);
  const chosen = at(({ answer }) => answer.position);
  const odd = at((answer) => answer.odd);
  if (judged.length === 0) return { chosen, odd, p: null, reading: 'Nobody answered.' };
  const [left = 0, middle = 0, right = 0] = chosen;
  const { p } = choiceBias({ left, middle, right });
  const counts = `Left, middle and right were chosen ${left}, ${middle} and ${right} times (${pEquals(p)} if each is equally likely).`;
  const advice =
    p <= 0.05 ? ' Some places drew more choices than others: look at how cups stood and were filled.' : '';
  return { chosen, odd, p, reading: counts + advice };
}

function readDescriptors(judged: Judged[]): TriangleResult['descriptors'] {
  const right = judged.filter((answer) => answer.right);
  const other = judged.filter((answer) => !answer.right);
  const ids = [...new Set(judged.flatMap(({ answer }) => answer.descriptors))];
  const named = (answers: Judged[], id: string) =>
    answers.filter(({ answer }) => answer.descriptors.includes(id)).length;
  const rows = ids
    .map((id) => ({ word: descriptor(id)?.word ?? id, right: named(right, id), other: named(other, id) }))
    .sort((a, b) => b.right - a.right || b.other - a.other || (a.word < b.word ? -1 : 1));
  return { rightAnswers: right.length, otherAnswers: other.length, rows };
}

function readReplicates(
  clusters: { answers: number; correct: number }[],
  { designEffect, intervalN }: { designEffect: number | null; intervalN: number },
): NonNullable<TriangleResult['replicates']> {
  const counts = new Map<string, { answers: number; right: number; assessors: number }>();
  for (const { answers, correct } of clusters) {
    const key = `${answers} ${correct}`;
    const row = counts.get(key) ?? { answers, right: correct, assessors: 0 };
    row.assessors += 1;
    counts.set(key, row);
  }
  const perAssessor = [...counts.values()].sort((a, b) => b.answers - a.answers || b.right - a.right);
  const total = clusters.reduce((sum, { answers }) => sum + answers, 0);
  const weight =
    designEffect === null
      ? 'How alike the answers of one palate are could not be estimated here, so each palate counts once.'
      : `For the interval they weigh like ${intervalN.toFixed(1)} answers of different people.`;
  const reading =
    `${total} answers came from ${inWords(clusters.length)} ${clusters.length === 1 ? 'person' : 'people'}: trays repeated by the same palate are not further people. ` +
    `The test of a difference may count them all, because under guessing they are independent; the intervals may not. ${weight}`;
  return { perAssessor, designEffect, effectiveAnswers: intervalN, reading };
}
