import type { TriangleResult } from '@oddglass/shared/contracts/result.ts';

export interface RawNumber {
  name: string;
  value: number | null;
}

/** Every computed number of the document, unrounded, for those who recompute. */
export function rawNumbers(result: TriangleResult): RawNumber[] {
  const { test, similarity, share, dPrime, power, positions, replicates, confidence } = result;
  const rows: RawNumber[] = [
    { name: 'right answers', value: test.correct },
    { name: 'answers', value: test.answers },
    { name: 'expected by guessing', value: test.expectedByGuessing },
    { name: 'exact p, one-sided', value: test.p },
    { name: 'smallest p possible', value: test.smallestP },
    { name: 'needed', value: test.critical },
    { name: 'alpha', value: test.alpha },
    { name: 'share right', value: result.proportionCorrect },
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
      { name: 'similarity: right answers', value: similarity.correct },
      { name: 'similarity: answers', value: similarity.answers },
      { name: 'similarity: at most', value: similarity.mostCorrect },
      { name: 'similarity: exact p', value: similarity.p },
      { name: 'similarity: beta', value: similarity.beta },
      { name: 'similarity: upper limit of the share', value: similarity.upperShare },
    );
  }
  rows.push(
    { name: 'power of the answers served', value: power.power },
    { name: 'smallest panel for the plan', value: power.smallestForPlan },
    { name: 'choice by place, p', value: positions.p },
  );
  for (const row of confidence.rows) {
    rows.push(
      { name: `${row.confidence}: lower limit of the share right`, value: row.lower },
      { name: `${row.confidence}: upper limit of the share right`, value: row.upper },
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
