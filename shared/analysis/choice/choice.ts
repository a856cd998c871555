import type { DifferencePart } from '../../contracts/part.ts';
import type { ChoiceResult } from '../../contracts/result-choice.ts';
import { differenceOf, hasRightAnswer } from '../../kinds/kinds.ts';
import { clopperPearson, shareOfDiscriminators } from '../../stats/discrimination/proportion-interval.ts';
import { replicatedProportion } from '../../stats/discrimination/replicated.ts';
import { choiceCaveats } from './caveats.ts';
import { dPrimeFigures, posteriorFigures, powerFigures, similarityFigures, testFigures } from './figures.ts';
import { choiceFinding } from './finding.ts';
import { judgeTrays, type Judged } from './judge.ts';
import { choiceMethods } from './methods.ts';
import {
  byWording,
  confidenceFigures,
  orderFigures,
  positionFigures,
  referenceFigures,
  replicateFigures,
  wordsNamed,
} from './readings.ts';
import { servedFacts, type PartInput } from '../common/served.ts';
import type { ChoiceFigures } from './result.ts';

/**
 * From plan, key and answers to the result of a difference test: every figure with its interval, every caveat with
 * its reason. Pure: the same input gives the same result, in any order of trays.
 * A tray that its kind cannot hold, or an answer that names no cup of it: RangeError.
 *
 * Source of the tests: ISO 4120 (triangle), ISO 10399 (duo-trio), ISO 5495 (pair); exact binomial throughout.
 */
export function analyseChoice(input: PartInput<DifferencePart>): ChoiceResult {
  const { part, number } = input;
  const judged = judgeTrays(input);
  const { guessRate } = differenceOf(part).test;
  const directed = hasRightAnswer(part);
  const n = judged.length;
  const counted = judged.filter((answer) => answer.counted).length;
  // Pairs with the test: two-sided where the test is, otherwise both one-sided limits at alpha.
  const level = 1 - (directed ? 2 : 1) * part.alpha;

  const clusters = clustersOf(judged);
  const withheld = input.unanalysed?.palates ?? false;
  const replicated = clusters.some(({ answers }) => answers > 1)
    ? replicatedProportion({ clusters, level, eachOnce: withheld })
    : null;
  const { lower, upper } = replicated ?? clopperPearson({ correct: counted, n, level });
  const proportionCounted = n === 0 ? null : counted / n;
  const share = directed ? shareOfDiscriminators({ correct: counted, n, lower, upper, guessRate }) : null;
  const orders = orderFigures(judged, part);
  const outcome = outcomeOf(input);

  const figures: ChoiceFigures = {
    part: number,
    kind: part.kind,
    settings: part,
    served: servedFacts(input.trays),
    outcome,
    test: testFigures(part, counted, n),
    similarity: part.aim === 'similarity' ? similarityFigures(part, judged) : null,
    proportionCounted,
    share: share && {
      estimate: share.estimate,
      untruncated: share.untruncated,
      level,
      lower: share.lower,
      upper: share.upper,
    },
    stronger: strongerOf(
      part,
      judged,
      directed || proportionCounted === null ? null : { estimate: proportionCounted, level, lower, upper },
    ),
    dPrime: dPrimeFigures(
      part,
      { counted, n, effectiveN: replicated?.intervalN ?? n },
      { lower, upper, level },
    ),
    power: powerFigures(part, n, clusters.length),
    // It rests on first trays: beside the headline it tells how the later ones went.
    posterior: withheld ? null : posteriorFigures(part, judged, level),
    confidence: confidenceFigures(judged, outcome.counted, directed),
    orders: {
      rows: [...orders.served].map(([order, answers]) => ({
        order,
        served: answers.length,
        counted: answers.filter((one) => one.counted).length,
      })),
      balanced: orders.balanced,
      reading: orders.reading,
    },
    references: referenceFigures(judged, part),
    positions: positionFigures(judged, part),
    descriptors: descriptorsOf(judged, input.words),
    comments: byWording(
      judged
        .filter(({ comment }) => comment !== '')
        .map((answer) => ({ counted: answer.counted, text: answer.comment })),
      (comment) => (comment.counted ? 0 : 1),
    ),
    replicates: replicated && replicateFigures(clusters, { ...replicated, withheld }),
  };
  return {
    ...figures,
    finding: choiceFinding(figures, input.session),
    caveats: choiceCaveats(input, figures),
    methods: choiceMethods(figures),
  };
}

/** Answers of each person. Sorted, so that sums come out the same to the last bit in whatever order trays are handed in. */
function clustersOf(judged: readonly Judged[]): { answers: number; correct: number }[] {
  return [...Map.groupBy(judged, ({ assessor }) => assessor).values()]
    .map((answers) => ({ answers: answers.length, correct: answers.filter((one) => one.counted).length }))
    .sort((a, b) => a.answers - b.answers || a.correct - b.correct);
}

function outcomeOf({ part, session }: PartInput<DifferencePart>): ChoiceResult['outcome'] {
  if (hasRightAnswer(part)) return { counted: 'right', other: 'not right' };
  const name = (armId: string | undefined) => session.arms.find(({ id }) => id === armId)?.name ?? '?';
  return { counted: name(part.armIds[0]), other: name(part.armIds[1]) };
}

/** Only tests that name an attribute can say in which arm there was more of it. */
function strongerOf(
  part: DifferencePart,
  judged: readonly Judged[],
  share: NonNullable<ChoiceResult['stronger']>['share'],
): ChoiceResult['stronger'] {
  if (!('attribute' in part)) return null;
  const rows = part.armIds.map((armId) => ({
    armId,
    answers: judged.filter(({ chosenArmId }) => chosenArmId === armId).length,
  }));
  return { attribute: part.attribute, rows, share };
}

function descriptorsOf(judged: readonly Judged[], words: PartInput['words']): ChoiceResult['descriptors'] {
  const hits = judged.filter(({ counted }) => counted).length;
  const rows = wordsNamed(judged, words).map(({ word, answers }) => {
    const counted = answers.filter((one) => one.counted).length;
    return { word, counted, other: answers.length - counted };
  });
  return {
    countedAnswers: hits,
    otherAnswers: judged.length - hits,
    rows: rows.sort((a, b) => b.counted - a.counted || b.other - a.other || (a.word < b.word ? -1 : 1)),
  };
}
