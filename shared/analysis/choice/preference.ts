import type { PreferenceResult } from '../../contracts/result-choice.ts';
import { pairedPreference, twoSidedP } from '../../stats/discrimination/preference.ts';
import { clopperPearson } from '../../stats/discrimination/proportion-interval.ts';
import { judgeTrays, type Judged } from './judge.ts';
import { byWording, orderFigures, positionFigures, wordsNamed } from './readings.ts';
import { preferenceCaveats, preferenceFinding, preferenceMethods } from './preference-words.ts';
import { servedFacts, type PartInput } from '../common/served.ts';
import type { PreferencePart, PreferenceFigures } from './preference-result.ts';

/** What a part with 'no preference' declares: such answers are counted apart and left out of the test. */
const POLICY = 'exclude';
/** Level of the interval that describes and does not test. Common practice, no source. */
const LEVEL = 0.95;

/**
 * Which of two arms was preferred: two-sided exact test of those who prefer one, the share with its exact interval,
 * and 'no preference' beside it everywhere. An even split is no proof that the arms are alike.
 * Pure: the same input gives the same result, in any order of trays. Errors: as judgeTrays.
 * Source: ISO 5495; Roessler, Pangborn, Sidel & Stone 1978, J. Food Sci. 43:940.
 */
export function analysePreference(input: PartInput<PreferencePart>): PreferenceResult {
  const { part, number } = input;
  const judged = judgeTrays(input);
  const [firstArm = '', secondArm = ''] = part.armIds;
  const chose = (armId: string | null) => (answer: Judged) => answer.chosenArmId === armId;
  const [first, second, none] = [firstArm, secondArm, null].map(
    (armId) => judged.filter(chose(armId)).length,
  ) as [number, number, number];
  const tested = pairedPreference({
    preferA: first,
    preferB: second,
    noPreference: none,
    policy: POLICY,
    level: 1 - part.alpha,
  });
  const firstLeads = first >= second;
  const apart = clopperPearson({ correct: none, n: judged.length, level: LEVEL });

  const figures: PreferenceFigures = {
    part: number,
    kind: 'preference',
    settings: part,
    served: servedFacts(input.trays),
    votes: [
      { armId: firstArm, votes: first },
      { armId: secondArm, votes: second },
    ],
    noPreference: {
      offered: part.noPreference,
      answers: none,
      share:
        judged.length === 0
          ? null
          : { estimate: none / judged.length, level: LEVEL, lower: apart.lower, upper: apart.upper },
    },
    test: {
      policy: tested.policy,
      answers: tested.n,
      most: Math.max(first, second),
      p: tested.p,
      critical: tested.critical,
      alpha: part.alpha,
      smallestP: twoSidedP({ count: tested.n, n: tested.n }),
    },
    share:
      tested.share === null
        ? null
        : {
            armId: firstLeads ? firstArm : secondArm,
            estimate: firstLeads ? tested.share : second / tested.n,
            level: tested.level,
            lower: firstLeads ? tested.lower : 1 - tested.upper,
            upper: firstLeads ? tested.upper : 1 - tested.lower,
          },
    ...readingsOf(input, judged),
  };
  return {
    ...figures,
    finding: preferenceFinding(figures, input.session),
    caveats: preferenceCaveats(input, figures),
    methods: preferenceMethods(figures),
  };
}

/** What stands beside the test: orders, places, words and comments. */
function readingsOf(
  { part, words }: PartInput<PreferencePart>,
  judged: Judged[],
): Pick<PreferenceFigures, 'orders' | 'positions' | 'descriptors' | 'comments'> {
  const orders = orderFigures(judged, part);
  return {
    orders: {
      rows: [...orders.served].map(([order, answers]) => ({
        order,
        served: answers.length,
        ...votesOf(answers, part),
      })),
      balanced: orders.balanced,
      reading: orders.reading,
    },
    positions: positionFigures(judged, part),
    descriptors: wordsNamed(judged, words)
      .map(({ word, answers }) => ({ word, ...votesOf(answers, part) }))
      .sort(
        (a, b) =>
          b.first + b.second - a.first - a.second ||
          b.first - a.first ||
          b.none - a.none ||
          (a.word < b.word ? -1 : 1),
      ),
    comments: byWording(
      judged
        .filter(({ comment }) => comment !== '')
        .map(({ chosenArmId, comment }) => ({ armId: chosenArmId, text: comment })),
      ({ armId }) => (armId === null ? 2 : part.armIds.indexOf(armId)),
    ),
  };
}

function votesOf(
  answers: readonly Judged[],
  { armIds }: PreferencePart,
): { first: number; second: number; none: number } {
  const votes = (armId: string | null | undefined) =>
    answers.filter(({ chosenArmId }) => chosenArmId === armId).length;
  return { first: votes(armIds[0]), second: votes(armIds[1]), none: votes(null) };
}
