import type { ChoiceResult, PreferenceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { differenceOf } from '@oddglass/shared/kinds/kinds.ts';
import { asChosen, countOf, percent } from '#lib/text/numbers.ts';
import type { PlanRow } from '../plan-rows.ts';
import type { RawNumber } from '../raw-numbers.ts';

/** What a difference test fixed before the first sip. */
export function choiceFixed({ settings, test }: ChoiceResult, nameOf: (armId: string) => string): PlanRow[] {
  const rows: PlanRow[] = [
    {
      name: 'test',
      value: `${differenceOf(settings).names.heading.toLowerCase()}, ${test.side === 'greater' ? 'one-sided' : 'two-sided'}`,
    },
  ];
  if ('strongerArmId' in settings) {
    rows.push(
      { name: 'attribute', value: settings.attribute },
      {
        name: 'expected to have more',
        value: settings.strongerArmId === null ? 'no direction' : nameOf(settings.strongerArmId),
      },
    );
  }
  if ('reference' in settings) {
    rows.push({
      name: 'reference',
      value: settings.reference === 'balanced' ? 'each arm equally often' : nameOf(settings.armIds[0] ?? ''),
    });
  }
  return [
    ...rows,
    { name: 'aim', value: settings.aim },
    { name: 'alpha', value: asChosen(settings.alpha) },
    { name: 'beta', value: asChosen(settings.beta) },
    { name: 'share of discriminators that would matter', value: percent(settings.meaningfulShare) },
    { name: 'trays per assessor', value: countOf(settings.replicates) },
  ];
}

/** What a paired preference fixed before the first sip. */
export function preferenceFixed({ settings }: PreferenceResult): PlanRow[] {
  return [
    { name: 'test', value: 'paired preference, two-sided' },
    { name: 'alpha', value: asChosen(settings.alpha) },
    {
      name: '“no preference”',
      value: settings.noPreference ? 'may be said, left out of the test' : 'may not be said',
    },
  ];
}

/** Every computed number of a difference test, unrounded. */
export function choiceNumbers(result: ChoiceResult): RawNumber[] {
  const { test, share, stronger, outcome } = result;
  const rows: RawNumber[] = [
    { name: `answers, ${outcome.counted}`, value: test.counted },
    { name: 'answers', value: test.answers },
    { name: 'expected by guessing', value: test.expectedByGuessing },
    { name: `exact p, ${test.side === 'greater' ? 'one-sided' : 'two-sided'}`, value: test.p },
    { name: 'smallest p possible', value: test.smallestP },
    { name: 'needed', value: test.critical },
    { name: 'alpha', value: test.alpha },
    { name: `share ${outcome.counted}`, value: result.proportionCounted },
  ];
  if (share) {
    rows.push(
      { name: 'share of discriminators', value: share.estimate },
      { name: 'share of discriminators, not cut off at 0', value: share.untruncated },
      { name: 'its lower limit', value: share.lower },
      { name: 'its upper limit', value: share.upper },
      { name: 'level of the interval', value: share.level },
    );
  }
  if (stronger?.share) {
    rows.push(
      { name: `share ${outcome.counted}, lower limit`, value: stronger.share.lower },
      { name: `share ${outcome.counted}, upper limit`, value: stronger.share.upper },
      { name: 'level of the interval', value: stronger.share.level },
    );
  }
  return [...rows, ...furtherNumbers(result)];
}

/** Size, similarity, power and what stands beside the test. */
function furtherNumbers(result: ChoiceResult): RawNumber[] {
  const { similarity, dPrime, power, posterior, positions, replicates, confidence } = result;
  const rows: RawNumber[] = [];
  if (dPrime) {
    rows.push(
      { name: 'd-prime', value: dPrime.estimate },
      { name: 'd-prime, standard error', value: dPrime.standardError },
      { name: 'd-prime, lower limit', value: dPrime.lower },
      { name: 'd-prime, upper limit', value: dPrime.upper },
      { name: 'd-prime, level of the interval', value: dPrime.level },
    );
  }
  if (similarity) {
    rows.push(
      { name: 'similarity: counted answers', value: similarity.counted },
      { name: 'similarity: answers', value: similarity.answers },
      { name: 'similarity: at most', value: similarity.mostCounted },
      { name: 'similarity: exact p', value: similarity.p },
      { name: 'similarity: beta', value: similarity.beta },
      { name: 'similarity: upper limit of the share', value: similarity.upperShare },
    );
  }
  rows.push(
    { name: 'power of the answers served', value: power.power },
    { name: 'smallest panel for the plan', value: power.smallestForPlan },
  );
  if (posterior) {
    rows.push(
      { name: 'probability that the share matters', value: posterior.exceeds },
      { name: 'the same before the answers', value: posterior.exceedsBefore },
      { name: 'share, middle value of its probability', value: posterior.median },
      { name: 'share, lower limit of its probability', value: posterior.lower },
      { name: 'share, upper limit of its probability', value: posterior.upper },
    );
  }
  rows.push({ name: 'choice by place, p', value: positions.p });
  for (const row of confidence.rows) {
    rows.push(
      { name: `${row.confidence}: lower limit of the share`, value: row.lower },
      { name: `${row.confidence}: upper limit of the share`, value: row.upper },
    );
  }
  if (confidence.rIndex) {
    rows.push(
      { name: 'R-index of confidence', value: confidence.rIndex.estimate },
      { name: 'R-index, lower limit', value: confidence.rIndex.lower },
      { name: 'R-index, upper limit', value: confidence.rIndex.upper },
      { name: 'R-index, p', value: confidence.rIndex.p },
    );
  }
  if (replicates) {
    rows.push(
      { name: 'design effect', value: replicates.designEffect },
      { name: 'effective answers', value: replicates.effectiveAnswers },
    );
  }
  return rows;
}

/** Every computed number of a paired preference, unrounded. */
export function preferenceNumbers(
  { votes, noPreference, test, share, positions }: PreferenceResult,
  nameOf: (armId: string) => string,
): RawNumber[] {
  const rows: RawNumber[] = votes.map((row) => ({
    name: `votes for ${nameOf(row.armId)}`,
    value: row.votes,
  }));
  rows.push(
    { name: 'no preference', value: noPreference.answers },
    { name: 'votes in the test', value: test.answers },
    { name: 'exact p, two-sided', value: test.p },
    { name: 'smallest p possible', value: test.smallestP },
    { name: 'needed', value: test.critical },
    { name: 'alpha', value: test.alpha },
  );
  if (share) {
    rows.push(
      { name: `share of votes for ${nameOf(share.armId)}`, value: share.estimate },
      { name: 'its lower limit', value: share.lower },
      { name: 'its upper limit', value: share.upper },
      { name: 'level of the interval', value: share.level },
    );
  }
  if (noPreference.share) {
    rows.push(
      { name: 'share without a preference', value: noPreference.share.estimate },
      { name: 'without a preference, lower limit', value: noPreference.share.lower },
      { name: 'without a preference, upper limit', value: noPreference.share.upper },
    );
  }
  rows.push({ name: 'choice by place, p', value: positions.p });
  return rows;
}
