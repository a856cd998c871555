import type { DifferencePart, Part } from '../contracts/part.ts';
import { differenceOf, hasRightAnswer } from '../kinds/kinds.ts';
import { upperTail } from '../stats/binomial.ts';
import { proportionCorrect } from '../stats/discrimination/guessing.ts';
import { powerOfDifference, smallestForDifference, smallestReaching } from '../stats/discrimination/power.ts';
import { powerOfTrays, smallestForTrays } from '../stats/discrimination/power-of-trays.ts';
import { twoSidedCriticalNumber } from '../stats/discrimination/preference.ts';
import { maxCorrect, powerOfSimilarity, smallestForSimilarity } from '../stats/discrimination/similarity.ts';
import type { DifferenceReading, PartReading, PlanFigure } from './plan-reading.ts';
import { percent, plain } from '../ground/phrases.ts';

type Said = Pick<PartReading, 'figures' | 'difference' | 'sayings' | 'warnings'>;

/**
 * What a test of difference can and cannot tell. Difference: exact binomial test over all trays (ISO 4120). Similarity:
 * one answer per person, because repeated answers of one palate may not be pooled for it (ISO 4120; methods of
 * replicated testing).
 */
export function assessDifference(assessors: number, part: DifferencePart): Said {
  const similarity = part.aim === 'similarity';
  const reading = differenceReading(assessors, part);
  return {
    difference: reading,
    figures: figuresOf(part, reading),
    sayings: similarity ? sayingsOfSimilarity(part, reading) : sayingsOfDifference(part, reading),
    warnings: [...warningsOf(part, reading), ...warningsOfFew(assessors, part)],
  };
}

function differenceReading(assessors: number, part: DifferencePart): DifferenceReading {
  const { replicates, alpha, beta, aim, meaningfulShare: pd } = part;
  const similarity = aim === 'similarity';
  const twoSided = !hasRightAnswer(part);
  const guessRate = differenceOf(part).test.guessRate;
  const test = (n: number) =>
    twoSided ? powerToBothSides({ n, alpha, pd }) : powerOfDifference({ n, alpha, pd, guessRate });
  const alike = (n: number) =>
    twoSided ? powerOfLikeness({ n, beta, pd }) : powerOfSimilarity({ n, beta, pdMax: pd, guessRate });
  const smallest = !twoSided
    ? similarity
      ? smallestForSimilarity({ alpha, beta, pdMax: pd, guessRate })
      : smallestForDifference({ alpha, beta, pd, guessRate })
    : smallestReaching((n) => (similarity ? alike(n) : test(n)).power, similarity ? 1 - alpha : 1 - beta);
  const trays = similarity ? 1 : replicates;
  const whole = test(assessors * replicates);
  const plan = { trays: replicates, alpha, pd, guessRate: twoSided ? 1 / 2 : guessRate, twoSided };
  const differing = replicates === 1 ? whole.power : powerOfTrays({ ...plan, assessors }).power;
  const people = alike(assessors);
  return {
    answers: assessors * trays,
    critical: whole.critical,
    mostCorrect: similarity ? people.mostCorrect : null,
    power: similarity ? people.power : differing,
    powerIfIndependent: similarity ? people.power : whole.power,
    smallestAssessors: trays === 1 ? smallest : smallestForTrays({ ...plan, beta }),
  };
}

/** Exact power of the two-sided binomial test against one half, when a share pd names one arm for a reason. */
export function powerToBothSides({ n, alpha, pd }: { n: number; alpha: number; pd: number }): {
  critical: number | null;
  power: number;
} {
  const critical = twoSidedCriticalNumber({ n, alpha });
  const share = proportionCorrect(pd, 1 / 2);
  if (critical === null) return { critical, power: 0 };
  return { critical, power: upperTail(critical, n, share) + upperTail(critical, n, 1 - share) };
}

/** Similarity whichever arm is named more often: neither may be named too often; power when nobody can tell. */
function powerOfLikeness({ n, beta, pd }: { n: number; beta: number; pd: number }): {
  mostCorrect: number | null;
  power: number;
} {
  const mostCorrect = maxCorrect({ n, beta, pdMax: pd, guessRate: 1 / 2 });
  if (mostCorrect === null || 2 * mostCorrect < n) return { mostCorrect: null, power: 0 };
  return { mostCorrect, power: 1 - 2 * upperTail(mostCorrect + 1, n, 1 / 2) };
}

function figuresOf(part: DifferencePart, reading: DifferenceReading): PlanFigure[] {
  const similarity = part.aim === 'similarity';
  const { answers, critical, mostCorrect, power, smallestAssessors } = reading;
  const twoSided = !hasRightAnswer(part);
  const test = twoSided
    ? 'two-sided exact binomial test (ISO 5495)'
    : `exact binomial test (${differenceOf(part).test.planned})`;
  const count = similarity ? mostCorrect : critical;
  const right = twoSided ? 'for one arm' : 'right';
  const goal = percent(1 - (similarity ? part.alpha : part.beta));
  return [
    {
      label: similarity
        ? `most ${right} that still show similarity`
        : `fewest ${right} that show a difference`,
      value: count === null ? 'none' : `${count} of ${answers}`,
      note: `By the ${test} at ${similarity ? `beta ${part.beta}` : `alpha ${part.alpha}`}.`,
    },
    {
      label: similarity ? 'chance to show it if everybody guesses' : 'chance to find what matters (power)',
      value: percent(power),
      note: `Exact, for a share of discriminators of ${percent(part.meaningfulShare)} (Ennis 1993; Schlich 1993)${!similarity && part.replicates > 1 ? ', persons differing as far as they can' : ''}.`,
    },
    {
      label: `assessors that reach ${goal}`,
      value: smallestAssessors ? smallestAssessors.first.toLocaleString('en') : 'none',
      note: smallestAssessors
        ? `${smallestAssessors.stable.toLocaleString('en')} from which on every larger panel does too: power does not rise steadily with people.`
        : 'No panel that a session seats does.',
    },
  ];
}

function sayingsOfDifference(part: DifferencePart, reading: DifferenceReading): string[] {
  const { alpha, meaningfulShare, replicates } = part;
  const { answers, critical, power, powerIfIndependent } = reading;
  const twoSided = !hasRightAnswer(part);
  const guessed = plain(answers * differenceOf(part).test.guessRate);
  if (critical === null) {
    return [
      `Even ${answers} ${twoSided ? 'alike' : 'right'} of ${answers} would not be significant at alpha ${alpha}: this panel can show nothing.`,
    ];
  }
  const sayings = [
    twoSided
      ? `At least ${critical} of ${answers} answers for one arm, whichever it is, show a difference (alpha ${alpha}, both sides, since ` +
        `no direction was written down). Guessing alone gives each ${guessed} on average.`
      : `At least ${critical} of ${answers} right answers show a difference (alpha ${alpha}). Guessing alone gives ${guessed} on average.`,
    `If the share of discriminators is ${percent(meaningfulShare)} (a share always tells, the rest guess), the panel finds it with a chance of ${percent(power)}.`,
    `Fewer than ${critical} ${twoSided ? 'for either arm' : 'right'} means: no difference was demonstrated with this panel. It does not mean that there is none; ` +
      `one of that size stays unseen ${percent(1 - power)} of the time.`,
  ];
  if (replicates > 1) {
    sayings.push(
      `These chances take persons to differ as far as they can: on all ${replicates} trays a share always tells, and the rest guess. ` +
        `Were the trays of one palate independent, the chance would be ${percent(powerIfIndependent)}; the truth lies between.`,
    );
  }
  return sayings;
}

function sayingsOfSimilarity(part: DifferencePart, reading: DifferenceReading): string[] {
  const { beta, meaningfulShare, replicates } = part;
  const { answers, mostCorrect, power } = reading;
  const limit = percent(meaningfulShare);
  const twoSided = !hasRightAnswer(part);
  if (mostCorrect === null) {
    return [
      twoSided
        ? `Even an equal share of ${answers} answers would not support a share of discriminators of at most ${limit}: this panel can show nothing.`
        : `Even no right answer of ${answers} would not support a share of discriminators of at most ${limit}: this panel can show nothing.`,
    ];
  }
  const count = twoSided ? `${mostCorrect} of ${answers} answers for either arm` : '';
  const sayings = [
    `At most ${count || `${mostCorrect} of ${answers} right answers`} support that the share of discriminators is below ${limit} (risk of a wrong claim: ${beta}).`,
    `If everybody guesses, the panel supports it with a chance of ${percent(power)}.`,
    `More than ${mostCorrect} ${twoSided ? 'for one arm' : 'right'} means: similarity was not demonstrated. It does not mean that the arms differ.`,
  ];
  if (replicates > 1) {
    sayings.push(
      'For similarity one answer per person counts: the first tray. Further trays inform, but are not pooled.',
    );
  }
  return sayings;
}

function warningsOf({ alpha, beta, aim }: DifferencePart, reading: DifferenceReading): string[] {
  const { power, smallestAssessors } = reading;
  // The risks change places: showing similarity fails with risk alpha, claiming it wrongly with risk beta.
  const wanted = aim === 'similarity' ? 1 - alpha : 1 - beta;
  if (power >= wanted) return [];
  const reach = smallestAssessors
    ? `${smallestAssessors.first} assessors would reach it, ${smallestAssessors.stable} with every larger panel too.`
    : 'No panel that a session seats would reach it: look for a larger difference or accept more risk.';
  return [`The chance of ${percent(power)} is below the ${percent(wanted)} you ask for. ${reach}`];
}

// Below this one person weighs so much that a reader must know: as in the results. Our own bound; no source.
const SMALL_PANEL = 10;

/** However many trays, so many palates stay so many palates. */
function warningsOfFew(assessors: number, { replicates, aim }: DifferencePart): string[] {
  if (replicates === 1 || aim === 'similarity' || assessors >= SMALL_PANEL) return [];
  return [
    `${assessors === 1 ? 'One palate stays one palate' : `${assessors} palates stay ${assessors} palates`}: more trays tell more of these people, not of others.`,
  ];
}

// A preference worth knowing of, to plan with: 65 against 35 of 100. Our own choice; no source.
const PREFERRED_SHARE = 0.65;

/** What a paired preference can tell: two-sided, one answer per person (ISO 5495; Roessler et al. 1978). */
export function assessPreference(
  assessors: number,
  { alpha, noPreference }: Extract<Part, { kind: 'preference' }>,
): Said {
  const { critical, power } = powerToBothSides({ n: assessors, alpha, pd: 2 * PREFERRED_SHARE - 1 });
  const split = `${percent(PREFERRED_SHARE)} to ${percent(1 - PREFERRED_SHARE)}`;
  const figures: PlanFigure[] = [
    {
      label: 'fewest for one arm that show a preference',
      value: critical === null ? 'none' : `${critical} of ${assessors}`,
      note: `By the two-sided exact binomial test at alpha ${alpha} (ISO 5495; Roessler et al. 1978).`,
    },
    {
      label: `chance to find a split of ${split} (power)`,
      value: percent(power),
      note: 'Exact, if everybody names an arm.',
    },
  ];
  if (critical === null) {
    const sayings = [
      `Even ${assessors} of ${assessors} for one arm would not be significant at alpha ${alpha}: this panel can show nothing.`,
    ];
    return { figures, difference: null, sayings, warnings: [] };
  }
  const sayings = [
    `At least ${critical} of ${assessors} for one arm, whichever it is, show a preference (alpha ${alpha}, both sides).`,
    `If people like these split ${split}, the panel finds it with a chance of ${percent(power)}.`,
    `Fewer than ${critical} for either arm means: no preference was demonstrated. It does not mean that the arms are liked alike.`,
  ];
  if (noPreference) {
    sayings.push(
      "Whoever says 'no preference' is counted apart and leaves the test: it then rests on fewer people.",
    );
  }
  return { figures, difference: null, sayings, warnings: [] };
}
