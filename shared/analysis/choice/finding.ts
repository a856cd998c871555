import type { ChoiceResult } from '../../contracts/result-choice.ts';
import type { SessionFacts } from '../../contracts/result-common.ts';
import { differenceOf } from '../../kinds/kinds.ts';
import { lowerTail } from '../../stats/binomial.ts';
import type { ChoiceFigures } from './result.ts';
import { capital, inWords, pEquals, people, percent, plain, timesIn, upTo } from '../../ground/phrases.ts';

type Finding = ChoiceResult['finding'];

/**
 * The finding in sentences. 'Not significant' is never written as 'the same', no verdict stands without its
 * uncertainty, and only a test that names an attribute says in which arm there was more of it.
 */
export function choiceFinding(figures: ChoiceFigures, session: SessionFacts): Finding {
  if (figures.test.answers === 0) {
    return {
      verdict: 'no-data',
      headline: 'Nobody answered, so nothing can be said.',
      lede: 'No ballot came in before the tasting was closed.',
    };
  }
  const names = armNames(figures, session);
  if (figures.similarity) return similarityFinding(figures, figures.similarity, names);
  return figures.test.side === 'two-sided'
    ? twoSidedFinding(figures, names)
    : differenceFinding(figures, names);
}

interface Names {
  /** The arm that was expected to have more; for a pair without a direction the one named more often. */
  stronger: string;
  weaker: string;
  /** '“bitter”', or empty where no attribute is named. */
  attribute: string;
}

function armNames({ settings, stronger, test, outcome }: ChoiceFigures, session: SessionFacts): Names {
  const name = (armId: string | undefined) => session.arms.find(({ id }) => id === armId)?.name ?? '?';
  const attribute = stronger ? `“${stronger.attribute}”` : '';
  const expected = 'strongerArmId' in settings ? settings.strongerArmId : null;
  if (expected !== null) {
    const other = settings.armIds.find((armId) => armId !== expected);
    return { stronger: name(expected), weaker: name(other), attribute };
  }
  const firstLeads = 2 * test.counted >= test.answers;
  return {
    stronger: firstLeads ? outcome.counted : outcome.other,
    weaker: firstLeads ? outcome.other : outcome.counted,
    attribute,
  };
}

const didRight = (figures: ChoiceFigures, names: Names): string => differenceOf(figures).test.didRight(names);

function foundBy(figures: ChoiceFigures, names: Names, count: number): string {
  const { answers } = figures.test;
  const some = `${capital(inWords(count))} of ${inWords(answers)}`;
  return figures.replicates
    ? `${some} answers, by ${people(figures.served.assessors)}, ${didRight(figures, names)}`
    : `${some} ${didRight(figures, names)}`;
}

function differenceFinding(figures: ChoiceFigures, names: Names): Finding {
  const { counted, answers, p, alpha, critical, expectedByGuessing, guessRate } = figures.test;
  const found = foundBy(figures, names, counted);
  const test = `exact one-sided ${pEquals(p)}, alpha fixed beforehand at ${alpha}`;
  const interval = shareSentence(figures);
  if (critical !== null && counted >= critical) {
    const shown = figures.stronger
      ? `${names.stronger} is perceptibly stronger in ${names.attribute} than ${names.weaker}`
      : 'The two arms can be told apart';
    return {
      verdict: 'difference-shown',
      headline: `${found}. Guessing alone reaches that ${timesIn(p)}.`,
      lede: `${shown} (${test}).${interval}`,
    };
  }
  const direction = figures.stronger ? ` in ${names.attribute} in the direction fixed beforehand` : '';
  const turned = figures.stronger
    ? ' or for a direction that was expected wrongly, which this test cannot show'
    : '';
  const low =
    lowerTail(counted, answers, guessRate) <= FEW
      ? ` Guessing alone seldom gives so few (${timesIn(lowerTail(counted, answers, guessRate))}): look for mistakes in labels or serving${turned}.`
      : '';
  const reached = counted === 0 ? '' : ` and reaches ${counted} or more ${timesIn(p)}`;
  return {
    verdict: 'difference-not-shown',
    headline: `${found}: no difference${figures.stronger ? ` in ${names.attribute}` : ''} was demonstrated.`,
    lede:
      `Guessing alone gives ${plain(expectedByGuessing)} on average${reached} (${test}).` +
      `${interval} ${powerSentence(figures, direction)}${low}`,
  };
}

function twoSidedFinding(figures: ChoiceFigures, names: Names): Finding {
  const { counted, answers, p, alpha, critical } = figures.test;
  const most = Math.max(counted, answers - counted);
  const even = 2 * counted === answers;
  const found = even
    ? `${capital(inWords(most))} of ${inWords(answers)} named ${names.stronger}, as many ${names.weaker}, as stronger in ${names.attribute}`
    : foundBy(figures, names, most);
  const test = `exact two-sided ${pEquals(p)}, alpha fixed beforehand at ${alpha}`;
  const share = figures.stronger?.share;
  const interval = share
    ? `${names.stronger} was named in ${percent(most / answers)} of answers (${percent(share.level)} interval ${intervalOfMost(share, 2 * counted >= answers)}).`
    : '';
  if (critical !== null && most >= critical) {
    return {
      verdict: 'difference-shown',
      headline: `${found}. Guessing alone gives so uneven a split ${timesIn(p)}.`,
      lede: `${names.stronger} is perceptibly stronger in ${names.attribute} than ${names.weaker} (${test}). ${interval}`,
    };
  }
  return {
    verdict: 'difference-not-shown',
    headline: `${found}: no difference in ${names.attribute} was demonstrated.`,
    lede:
      (even
        ? `An even split is what guessing gives most often (${test}). ${interval} `
        : `Guessing alone gives a split at least so uneven ${timesIn(p)} (${test}). ${interval} `) +
      powerSentence(figures, ` in ${names.attribute}, in whichever direction,`),
  };
}

function intervalOfMost({ lower, upper }: { lower: number; upper: number }, first: boolean): string {
  const [low, high] = first ? [lower, upper] : [1 - upper, 1 - lower];
  return `${percent(low)} to ${upTo(high)}`;
}

function powerSentence({ power, replicates }: ChoiceFigures, direction: string): string {
  const independent = replicates ? ', were the answers of one person independent' : '';
  return (
    `With these answers a difference${direction} of which the share of discriminators is ${percent(power.meaningfulShare)} would have been found ` +
    `with a chance of ${percent(power.power ?? 0)}${independent}.`
  );
}

/** By the guessing model, which is no count of heads: a share always tells, the rest guess. With a blank before it. */
function shareSentence({ share }: ChoiceFigures): string {
  if (!share) return '';
  // A lower limit below half a per cent says no more than none.
  const lower = share.lower < 0.005 ? 0 : share.lower;
  if (share.upper === 0) return '';
  const range =
    lower === 0 ? `up to ${upTo(share.upper)}` : `between ${percent(lower)} and ${upTo(share.upper)}`;
  return ` The share of discriminators, if a share always tells and the rest guess, is ${range} (${percent(share.level)} interval).`;
}

function similarityFinding(
  figures: ChoiceFigures,
  {
    counted,
    answers,
    mostCounted,
    p,
    beta,
    meaningfulShare,
    upperShare,
  }: NonNullable<ChoiceResult['similarity']>,
  names: Names,
): Finding {
  const found = `${capital(inWords(counted))} of ${inWords(answers)} ${didRight(figures, names)}`;
  const limit = percent(meaningfulShare);
  const sure = percent(1 - beta);
  const reach = upperShare < 0.01 ? 'less than 1 %' : `at most ${upTo(upperShare)}`;
  const once = figures.replicates ? ' One answer per person counts here: the first tray each answered.' : '';
  const few = fewFor(figures, { counted, answers });
  if (few !== null) {
    return {
      verdict: 'similarity-not-shown',
      headline: `${found}, fewer than guessing explains: nothing can be said of likeness.`,
      lede: `${few}${once}`,
    };
  }
  const differ = alsoDiffer(figures, names);
  const bound = `with ${sure} confidence the share of discriminators${inWhat(figures, names)} is ${reach}`;
  if (mostCounted !== null && counted <= mostCounted) {
    // Then even people who all guess mostly miss it: what shows it is luck as much as likeness.
    const byGuessing = answers * figures.test.guessRate;
    const small =
      mostCounted < byGuessing
        ? ` The panel is small for this limit: likeness shows only where fewer are right than the ${plain(byGuessing)} that guessing gives on average.`
        : '';
    return {
      verdict: 'similarity-shown',
      headline: `${found}: alike enough by the limit fixed beforehand${differ === '' ? '' : ', and yet they differ'}.`,
      lede:
        `If a share always tells and the rest guess, ${bound}, below the limit of ${limit} ` +
        `(exact ${pEquals(p)}, risk of a wrong claim ${beta}).${small}${once}${differ}`,
    };
  }
  return {
    verdict: 'similarity-not-shown',
    headline: `${found}: similarity was not demonstrated${differ === '' ? '' : ', and they differ'}.`,
    lede:
      `If a share always tells and the rest guess, ${bound}; the limit fixed beforehand was ${limit} ` +
      `(exact ${pEquals(p)}, needed ${beta} or less).${differ === '' ? ' This does not show that the arms differ.' : differ}${once}`,
  };
}

/** Likeness within a limit and a difference that can be perceived go together: then both are said. */
function alsoDiffer(figures: ChoiceFigures, names: Names): string {
  const { p, alpha, side } = figures.test;
  if (p > alpha) return '';
  const what = figures.stronger
    ? `${names.stronger} is perceptibly stronger in ${names.attribute} than ${names.weaker}`
    : 'The arms can be told apart';
  return ` ${what} nevertheless: guessing alone gives such answers ${timesIn(p)} (exact ${side === 'greater' ? 'one-sided' : 'two-sided'} ${pEquals(p)}, alpha ${alpha}).`;
}

/** What likeness is about: a test with a direction knows of that direction only. */
function inWhat({ stronger, test }: ChoiceFigures, names: Names): string {
  if (!stronger) return '';
  return test.side === 'greater'
    ? ` who find ${names.stronger} stronger in ${names.attribute} than ${names.weaker}`
    : ` in ${names.attribute}`;
}

// Below this a count is by luck so seldom that serving or direction is the likelier reason. Our own bounds; no source: the
// warning at one in twenty, the verdict withheld at one in a hundred.
const FEW = 0.05;
const FAR_TOO_FEW = 0.01;

/**
 * Far fewer right than guessing gives is no proof of likeness but a reason to look; null where chance explains it, as it does
 * without a direction, where the larger of both counts is held against the limit.
 */
function fewFor(
  { test, stronger }: ChoiceFigures,
  { counted, answers }: { counted: number; answers: number },
): string | null {
  const p = lowerTail(counted, answers, test.guessRate);
  if (p > FAR_TOO_FEW) return null;
  const turned = stronger ? ', or for a difference the other way round' : '';
  return `Guessing alone gives ${plain(answers * test.guessRate)} on average and so few only ${timesIn(p)}: look for mistakes in labels or serving${turned}.`;
}
