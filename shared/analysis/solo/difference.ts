import type { SoloDifference } from '../../contracts/solo.ts';
import type { SoloDifferenceResult } from '../../contracts/solo-result.ts';
import { capital, inWords, pEquals, percent, plain } from '../../ground/phrases.ts';
import { DIFFERENCES } from '../../kinds/kinds.ts';
import { countSolo, type SoloState } from '../../rules/solo.ts';
import { criticalNumber } from '../../stats/discrimination/critical-number.ts';
import { dPrimeInterval } from '../../stats/discrimination/d-prime.ts';
import { differenceTest } from '../../stats/discrimination/exact-p.ts';
import { clopperPearson } from '../../stats/discrimination/proportion-interval.ts';
import {
  sequentialBoundaries,
  sequentialOperating,
  sequentialStep,
} from '../../stats/discrimination/sequential.ts';
import type { MethodFacts } from '../../stats/method.ts';
import { caveatsOfSolo, uncounted, type SoloFacts } from './facts.ts';

type State = SoloState & { settings: SoloDifference };
type Verdict = SoloDifferenceResult['verdict'];

/** Repeated answers of one palate: under guessing they are independent, and so is the test (Kunert & Meyners 1999). */
const ONE_PALATE =
  'Under guessing every tray is an independent guess, by the shuffle; intervals take the trays of one palate as alike.';

const methodOf = ({ method, source }: MethodFacts): MethodFacts => ({
  method,
  source,
  assumption: ONE_PALATE,
});

/** What trays of one palate say of two arms: by the exact binomial test, or by the lines fixed beforehand. */
export function differenceOfSolo(state: State, facts: SoloFacts): SoloDifferenceResult {
  const { settings, plan } = state;
  const { counted, found, state: stop, after } = countSolo(state);
  const { guessRate, stats } = DIFFERENCES[settings.kind].test;
  const counts = { correct: found, n: counted };
  const test = differenceTest({ ...counts, guessRate });
  const level = 1 - 2 * settings.alpha;
  const interval = clopperPearson({ ...counts, level });
  const d = dPrimeInterval({ test: stats, ...counts, lower: interval.lower, upper: interval.upper });
  const needed = plan.lines
    ? sequentialStep({ plan: plan.lines, ...counts }).difference
    : criticalNumber({ n: counted, alpha: settings.alpha, guessRate });
  const verdict: Verdict = plan.lines
    ? stop === 'continue'
      ? 'open'
      : stop
    : needed !== null && found >= needed
      ? 'difference'
      : 'open';
  const usual = !plan.lines && counted > 0;
  const told = {
    counted,
    found,
    expected: test.expectedByGuessing,
    needed,
    verdict,
    p: usual ? test.p : null,
    share:
      usual && interval.estimate !== null
        ? { estimate: interval.estimate, lower: interval.lower, upper: interval.upper, level }
        : null,
    dPrime: usual ? { estimate: d.estimate, lower: d.lower, upper: d.upper } : null,
  };
  const caveats = caveatsOfSolo(state, facts);
  if (after.length > 0)
    caveats.push(`The lines had spoken before tray ${after.join(', ')}: what came later changes nothing.`);
  return {
    kind: 'difference',
    ...told,
    ...uncounted(state),
    headline: headlineOf(settings, state, told),
    says: saysOf(settings, state, told),
    caveats,
    methods: plan.lines
      ? [sequentialBoundaries(plan.lines)].map(methodOf)
      : [test, interval, d].map(methodOf),
  };
}

type Told = Pick<
  SoloDifferenceResult,
  'counted' | 'found' | 'expected' | 'needed' | 'verdict' | 'p' | 'share' | 'dPrime'
>;

const namesOf = ({ plan }: State): string => plan.arms.map(({ name }) => name).join(' and ');

function headlineOf({ dPrime }: SoloDifference, state: State, told: Told): string {
  const { counted, found, verdict } = told;
  const names = namesOf(state);
  const count = `${inWords(found)} of ${inWords(counted)} trays`;
  if (counted === 0) return `No tray of ${names} counts, so nothing is known.`;
  if (verdict === 'difference') return `One palate told ${names} apart, in ${count}.`;
  if (verdict === 'less')
    return `In ${count} one palate told ${names} apart: too few for a difference of d-prime ${plain(dPrime)}.`;
  return `One palate told ${names} apart in ${count}, which guessing may have done.`;
}

function saysOf(settings: SoloDifference, { plan, ended }: State, told: Told): string[] {
  const { counted, found, expected, needed, verdict, p, share, dPrime } = told;
  if (counted === 0) return [];
  const guessing = `Guessing gives ${plain(expected)} of ${counted} on average.`;
  if (plan.lines) {
    const at = (pd: number) => sequentialOperating({ plan: plan.lines!, pd, mostAnswers: settings.trays });
    const stop =
      verdict === 'open'
        ? `The lines fixed beforehand had not spoken ${ended ? 'when it was ended' : `after the ${inWords(settings.trays)} trays planned at most`}.`
        : `The lines fixed beforehand spoke after tray ${counted}.`;
    return [
      guessing,
      stop,
      `Such a series takes guessing for a difference in ${percent(at(0).difference)} of cases, and finds one of d-prime ${plain(settings.dPrime)} in ${percent(at(plan.lines.pd).difference)}. After a stop by lines the usual p and intervals do not hold, so none is told.`,
      ...(verdict === 'less' ? ['That is not the same as no difference.'] : []),
    ];
  }
  const size =
    share && dPrime
      ? `The share named as it stood is ${percent(share.estimate)} (${percent(share.level)} interval ${percent(share.lower)} to ${percent(share.upper)}), d-prime ${dPrime.estimate === null ? 'without an upper end' : plain(dPrime.estimate, 2)} (${plain(dPrime.lower, 2)} to ${dPrime.upper === null ? 'no end' : plain(dPrime.upper, 2)}).`
      : '';
  return [
    `${guessing} ${needed === null ? 'No number would have been enough' : `${capital(inWords(needed))} were needed`} (${pEquals(p ?? 1)}).`,
    size,
    ...(verdict === 'open'
      ? [
          `That ${found} of ${counted} may be guessing does not mean that the arms are the same: see what the plan could have found.`,
        ]
      : []),
  ].filter(Boolean);
}
