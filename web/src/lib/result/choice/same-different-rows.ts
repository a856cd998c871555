import type { SameDifferentResult } from '@oddglass/shared/contracts/result-same-different.ts';
import { asChosen, countOf } from '#lib/text/numbers.ts';
import type { PlanRow } from '../plan-rows.ts';
import type { RawNumber } from '../raw-numbers.ts';

/** What a same-different test fixed before the first sip. */
export function sameDifferentFixed({ settings, test }: SameDifferentResult): PlanRow[] {
  return [
    { name: 'test', value: 'same-different test, one-sided' },
    {
      name: 'compared',
      value: test.method === 'fisher' ? 'between people, one tray each' : 'within people, trays in twos',
    },
    { name: 'alpha', value: asChosen(settings.alpha) },
    { name: 'beta', value: asChosen(settings.beta) },
    { name: 'difference that would matter', value: `d′ ${asChosen(settings.dPrime)}` },
    { name: 'trays per assessor', value: countOf(settings.replicates) },
  ];
}

/** Every computed number of a same-different test, unrounded. */
export function sameDifferentNumbers({
  pairs,
  test,
  dPrime,
  power,
  confidence,
}: SameDifferentResult): RawNumber[] {
  const rows: RawNumber[] = [
    { name: 'hits: pairs that differ, called different', value: pairs.different.said },
    { name: 'pairs that differ', value: pairs.different.answers },
    { name: 'false alarms: pairs that do not, called different', value: pairs.same.said },
    { name: 'pairs that do not', value: pairs.same.answers },
    { name: 'exact p, one-sided', value: test.p },
    { name: 'smallest p possible', value: test.smallestP },
    { name: 'alpha', value: test.alpha },
  ];
  if (test.unlike) {
    rows.push(
      { name: 'twos answered unlike', value: test.unlike.twos },
      { name: 'of these, naming the pair that differs', value: test.unlike.named },
    );
  }
  if (dPrime) {
    rows.push(
      { name: 'd-prime', value: dPrime.estimate },
      { name: 'd-prime, standard error', value: dPrime.standardError },
      { name: 'd-prime, lower limit', value: dPrime.lower },
      { name: 'd-prime, upper limit', value: dPrime.upper },
      { name: 'd-prime, level of the interval', value: dPrime.level },
      { name: 'criterion', value: dPrime.criterion },
    );
  }
  rows.push(
    { name: 'power of the people who answered', value: power.power },
    { name: 'smallest panel for the plan', value: power.smallestForPlan },
  );
  for (const row of confidence.rows) {
    rows.push(
      { name: `${row.confidence}: lower limit of the share`, value: row.lower },
      { name: `${row.confidence}: upper limit of the share`, value: row.upper },
    );
  }
  return rows;
}
