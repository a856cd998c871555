import type { Confidence } from '../../contracts/ballot.ts';
import type { ChoicePart, DifferencePart } from '../../contracts/part.ts';
import type { ChoiceResult } from '../../contracts/result-choice.ts';
import { choiceOf, hasRightAnswer, servedOrders } from '../../kinds/kinds.ts';
import { equalPlaces } from '../../stats/equal-places.ts';
import { twoSidedP } from '../../stats/discrimination/preference.ts';
import { wilson } from '../../stats/discrimination/proportion-interval.ts';
import { rIndex } from '../../stats/discrimination/r-index.ts';
import { firstOfEach, type Judged } from './judge.ts';
import type { PartInput } from '../common/served.ts';
import { inWords, listed, pEquals, people } from '../../ground/phrases.ts';

const CONFIDENCES: readonly Confidence[] = ['certain', 'fairly-sure', 'guess'];
const CONFIDENCE_WORDS: Readonly<Record<Confidence, string>> = {
  certain: 'given as certain',
  'fairly-sure': 'given as fairly sure',
  guess: 'given as a guess',
};
/** Level of intervals that describe and do not test. Common practice, no source. */
const LEVEL = 0.95;

/** Right answers by confidence, and whether confidence told right from not right. */
export function confidenceFigures(
  judged: readonly Judged[],
  counted: string,
  directed: boolean,
): ChoiceResult['confidence'] {
  const rows = CONFIDENCES.map((confidence) => {
    const answers = judged.filter((answer) => answer.confidence === confidence);
    const hits = answers.filter((answer) => answer.counted).length;
    const { lower, upper } = wilson({ correct: hits, n: answers.length, level: LEVEL });
    return { confidence, counted: hits, answers: answers.length, lower, upper };
  });
  const index = directed ? confidenceIndex(judged) : null;
  const answered = rows.filter(({ answers }) => answers > 0);
  if (answered.length === 0) return { rows, rIndex: index, reading: 'Nobody answered.' };
  const parts = answered.map(
    ({ confidence, counted: hits, answers }) =>
      `${inWords(hits)} of ${inWords(answers)} ${directed ? '' : 'answers '}${CONFIDENCE_WORDS[confidence]}`,
  );
  const first = directed ? `Right were ${listed(parts)}.` : `${counted} was named in ${listed(parts)}.`;
  return {
    rows,
    rIndex: index,
    reading: `${first} How sure somebody is was asked after the choice and changes nothing in the test.`,
  };
}

function confidenceIndex(judged: readonly Judged[]): ChoiceResult['confidence']['rIndex'] {
  const first = firstOfEach(judged.filter(({ confidence }) => confidence !== null));
  // With one degree of confidence there is nothing to compare, and the spread would be 0.
  if (new Set(first.map(({ confidence }) => confidence)).size < 2) return null;
  const counts = (right: boolean) =>
    CONFIDENCES.map(
      (confidence) =>
        first.filter((answer) => answer.counted === right && answer.confidence === confidence).length,
    );
  const {
    rIndex: estimate,
    level,
    lower,
    upper,
    p,
  } = rIndex({
    signal: counts(true),
    noise: counts(false),
    level: LEVEL,
    side: 'greater',
  });
  if (estimate === null) return null;
  const rightAnswers = first.filter(({ counted }) => counted).length;
  return { rightAnswers, otherAnswers: first.length - rightAnswers, estimate, level, lower, upper, p };
}

/** Answers by serving order, over all orders of the kind. */
export function orderFigures(
  judged: readonly Judged[],
  part: ChoicePart,
): { served: Map<string, Judged[]>; balanced: boolean; reading: string } {
  const served = new Map(
    servedOrders(part).map((order) => [order, judged.filter((one) => one.order === order)]),
  );
  const counts = [...served.values()].map((answers) => answers.length);
  const [least, most] = [Math.min(...counts), Math.max(...counts)];
  const balanced = most - least <= 1;
  const orders = `The ${inWords(counts.length)} orders were answered`;
  const reading = balanced
    ? `${orders} equally often, to within one.`
    : `${orders} between ${least} and ${most} times: seats that stayed empty or trays left unanswered upset the balance.`;
  return { served, balanced, reading };
}

/** Choices by place on the tray: a check of serving, not of the samples. */
export function positionFigures(judged: readonly Judged[], part: ChoicePart): ChoiceResult['positions'] {
  const { picks, places } = choiceOf(part);
  const choices = judged.filter(({ place }) => place !== null);
  const hasRight = hasRightAnswer(part);
  const rows = places.map(({ name }, index) => ({
    place: name,
    chosen: choices.filter((answer) => answer.place === index).length,
    rightThere: hasRight ? choices.filter(({ rightPlace }) => rightPlace === index).length : null,
  }));
  if (choices.length === 0) return { rows, p: null, reading: 'Nobody chose a cup.' };
  const chosen = rows.map((row) => row.chosen);
  const p =
    places.length === 2 ? twoSidedP({ count: chosen[0] ?? 0, n: choices.length }) : equalPlaces(chosen).p;
  const what = picks(part).most === 2 ? 'The cups were paired' : 'Chosen were';
  const counts = rows.map(({ place, chosen }) => `${place} ${chosen}`);
  const reading = `${what} ${listed(counts)} times (${pEquals(p)} if each is equally likely).`;
  const advice =
    p <= 0.05 ? ' Some places drew more choices than others: look at how cups stood and were filled.' : '';
  return { rows, p, reading: reading + advice };
}

/** Words named after the choice, each with the answers that named it. */
export function wordsNamed(
  judged: readonly Judged[],
  words: PartInput['words'],
): { word: string; answers: Judged[] }[] {
  const ids = [...new Set(judged.flatMap(({ descriptors }) => descriptors))];
  return ids.map((id) => ({
    word: words.get(id)?.word ?? id,
    answers: judged.filter(({ descriptors }) => descriptors.includes(id)),
  }));
}

/** By wording within a group, so that the order of rows tells nothing about seats. */
export function byWording<T extends { text: string }>(comments: readonly T[], rank: (one: T) => number): T[] {
  return [...comments].sort((a, b) => rank(a) - rank(b) || (a.text < b.text ? -1 : 1));
}

/** Right answers by the arm that was the reference. */
export function referenceFigures(
  judged: readonly Judged[],
  part: DifferencePart,
): ChoiceResult['references'] {
  if (!('reference' in part)) return null;
  const arms = part.reference === 'constant' ? part.armIds.slice(0, 1) : part.armIds;
  return arms.map((armId) => {
    const answers = judged.filter(({ referenceArmId }) => referenceArmId === armId);
    return { armId, answers: answers.length, counted: answers.filter(({ counted }) => counted).length };
  });
}

/** What repeated trays of the same palates weigh. */
export function replicateFigures(
  clusters: readonly { answers: number; correct: number }[],
  {
    designEffect,
    intervalN,
    withheld,
  }: { designEffect: number | null; intervalN: number; withheld: boolean },
): NonNullable<ChoiceResult['replicates']> {
  const counts = new Map<string, { answers: number; counted: number; assessors: number }>();
  for (const { answers, correct } of clusters) {
    const key = `${answers} ${correct}`;
    const row = counts.get(key) ?? { answers, counted: correct, assessors: 0 };
    row.assessors += 1;
    counts.set(key, row);
  }
  const perAssessor = [...counts.values()].sort((a, b) => b.answers - a.answers || b.counted - a.counted);
  const total = clusters.reduce((sum, { answers }) => sum + answers, 0);
  const weight = withheld
    ? 'How alike the answers of one palate are is withheld, so each palate counts once.'
    : designEffect === null
      ? 'How alike the answers of one palate are could not be estimated here, so each palate counts once.'
      : `For the interval they weigh like ${intervalN.toFixed(1)} answers of different people.`;
  const reading =
    `${total} answers came from ${people(clusters.length)}: trays repeated by the same palate are not further people. ` +
    `The test of a difference may count them all, because under guessing they are independent; the intervals may not. ${weight}`;
  return { perAssessor, designEffect, effectiveAnswers: intervalN, reading };
}
