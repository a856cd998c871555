import type { SameDifferentResult } from '../../contracts/result-same-different.ts';
import { capital, inWords, pEquals, people, percent, timesIn } from '../../ground/phrases.ts';
import type { SameDifferentFigures } from './result.ts';

/** The finding in sentences: hits and false alarms together, and 'not significant' never as 'the same'. */
export function sameDifferentFinding(figures: SameDifferentFigures): SameDifferentResult['finding'] {
  const { test, pairs, served } = figures;
  if (test.answers === 0) {
    return {
      verdict: 'no-data',
      headline: 'Nobody answered, so nothing can be said.',
      lede: 'No ballot came in before the tasting was closed.',
    };
  }
  const shown = test.p <= test.alpha * (1 + 1e-12);
  const verdict = shown ? 'difference-shown' : 'difference-not-shown';
  if (pairs.different.said === null || pairs.same.said === null) return coarseFinding(figures, verdict);
  const by = test.method === 'mcnemar' ? `, by ${people(served.assessors)}` : '';
  const found =
    `${capital(inWords(pairs.different.said))} of ${inWords(pairs.different.answers)} pairs that differ were called different, ` +
    `and ${inWords(pairs.same.said)} of ${inWords(pairs.same.answers)} that do not${by}`;
  const tested = `exact one-sided ${pEquals(test.p)}, alpha fixed beforehand at ${test.alpha}`;
  const size = sizeSentence(figures);
  if (shown) {
    return {
      verdict,
      headline: `${found}. Chance alone sets them so far apart ${timesIn(test.p)}.`,
      lede: `The two arms can be told apart (${tested}). ${size}`.trim(),
    };
  }
  const nothing =
    test.method === 'mcnemar' && test.unlike?.twos === 0
      ? 'Everybody gave both trays the same answer, so that there is nothing to test'
      : `Chance alone sets them at least so far apart ${timesIn(test.p)}`;
  return {
    verdict,
    headline: `${found}: no difference was demonstrated.`,
    lede: [`${nothing} (${tested}).`, size, powerSentence(figures), biasSentence(figures)]
      .filter(Boolean)
      .join(' '),
  };
}

/** Of a small panel readers get the claim alone. */
function coarseFinding(
  { test }: SameDifferentFigures,
  verdict: SameDifferentResult['finding']['verdict'],
): SameDifferentResult['finding'] {
  const shown = verdict === 'difference-shown';
  return {
    verdict,
    headline: shown ? 'A difference was shown.' : 'No difference was demonstrated.',
    lede: `Exact one-sided ${pEquals(test.p, true)}, alpha fixed beforehand at ${test.alpha}. How often pairs were called different is withheld: hits and false alarms of so few people, told together, could point to them, and one without the other says nothing.`,
  };
}

function sizeSentence({ dPrime }: SameDifferentFigures): string {
  if (!dPrime) return '';
  const { estimate, lower, upper, level } = dPrime;
  // 'Different' was said never, or always.
  if (estimate === 0 && upper === null) return 'Of the size of a difference such answers say nothing.';
  const limits =
    upper === null ? `from ${lower.toFixed(1)} up` : `${lower.toFixed(1)} to ${upper.toFixed(1)}`;
  return estimate === null
    ? `The size of the difference has no upper bound here: d′ ${limits} (${percent(level)} interval), whatever people’s criterion.`
    : `Size of the difference, freed of people’s criterion: d′ ${estimate.toFixed(1)} (${percent(level)} interval ${limits}).`;
}

function powerSentence({ power }: SameDifferentFigures): string {
  return `These ${people(power.assessors)} would have found a difference of d′ ${power.dPrime} with a chance of ${percent(power.power ?? 0)}, by the criterion that names most pairs right.`;
}

// One in ten: a criterion so strict, or so lax, wastes most pairs. Our own bound; no source.
const EXTREME = 0.1;

/** A criterion at an end costs power, which a reader should know before believing in nothing. */
function biasSentence({ pairs, test }: SameDifferentFigures): string {
  const said = ((pairs.different.said ?? 0) + (pairs.same.said ?? 0)) / test.answers;
  if (said <= EXTREME) {
    return 'People seldom said ‘different’: so cautious a criterion is no claim of likeness, and finds little.';
  }
  return said >= 1 - EXTREME
    ? 'People nearly always said ‘different’: a criterion so lax tells little, and finds little.'
    : '';
}
