import type { ChoiceResult } from '../../contracts/result-choice.ts';
import type { SessionFacts } from '../../contracts/result-common.ts';
import { differenceOf } from '../../kinds/kinds.ts';
import { lowerTail } from '../../stats/binomial.ts';
import type { ChoiceFigures } from './result.ts';
import { capital, inWords, pEquals, people, percent, plain, timesIn } from '../../ground/phrases.ts';

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
  const { counted, p, alpha, critical, expectedByGuessing } = figures.test;
  const found = foundBy(figures, names, counted);
  const test = `exact one-sided ${pEquals(p)}, alpha fixed beforehand at ${alpha}`;
  const interval = shareSentence(figures);
  if (critical !== null && counted >= critical) {
    const shown = figures.stronger
      ? `${names.stronger} is perceptibly stronger in ${names.attribute} than ${names.weaker}`
      : 'The two arms can be told apart by taste';
    return {
      verdict: 'difference-shown',
      headline: `${found}. Guessing alone reaches that ${timesIn(p)}.`,
      lede: `${shown} (${test}). ${interval}`,
    };
  }
  const direction = figures.stronger ? ` in ${names.attribute} in the direction fixed beforehand` : '';
  const turned = figures.stronger
    ? ' or for a direction that was expected wrongly, which this test cannot show'
    : '';
  const low =
    counted < expectedByGuessing
      ? ` Fewer were right than guessing gives: look for mistakes in labels or serving${turned}.`
      : '';
  return {
    verdict: 'difference-not-shown',
    headline: `${found}: no difference${figures.stronger ? ` in ${names.attribute}` : ''} was demonstrated.`,
    lede:
      `Guessing alone gives ${plain(expectedByGuessing)} on average and reaches ${counted} or more ${timesIn(p)} ` +
      `(${test}). ${interval} ${powerSentence(figures, direction)}${low}`,
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
  return `${percent(low)} to ${percent(high)}`;
}

function powerSentence({ power }: ChoiceFigures, direction: string): string {
  return (
    `With these answers a difference${direction} that ${percent(power.meaningfulShare)} can tell would have been found ` +
    `with a chance of ${percent(power.power ?? 0)}.`
  );
}

function shareSentence({ share }: ChoiceFigures): string {
  if (!share) return '';
  const lower = Math.max(0, share.lower);
  const upper = Math.max(0, share.upper);
  const range =
    lower === 0
      ? `Up to ${percent(upper)} of people like these assessors may be able to tell`
      : `Between ${percent(lower)} and ${percent(upper)} of people like these assessors would be able to tell`;
  return `${range} (${percent(share.level)} interval).`;
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
  const reach = percent(Math.max(0, upperShare));
  const once = figures.replicates ? ' One answer per person counts here: the first tray each answered.' : '';
  const what = differenceWords(figures, names);
  if (mostCounted !== null && counted <= mostCounted) {
    return {
      verdict: 'similarity-shown',
      headline: `${found}: at most ${reach} of people like these can tell.`,
      lede:
        `${what} is perceptible to at most ${reach} of comparable assessors, below the limit of ` +
        `${limit} fixed beforehand (exact ${pEquals(p)}, risk of a wrong claim ${beta}).${once}${fewSentence(figures)}`,
    };
  }
  return {
    verdict: 'similarity-not-shown',
    headline: `${found}: similarity was not demonstrated.`,
    lede:
      `Up to ${reach} of comparable assessors may be able to tell; the limit fixed beforehand was ${limit} ` +
      `(exact ${pEquals(p)}, needed ${beta} or less). This does not show that the arms differ.${once}`,
  };
}

/** What similarity is about: a test with a direction knows of that direction only. */
function differenceWords({ stronger, test }: ChoiceFigures, names: Names): string {
  if (!stronger) return 'Any difference';
  return test.side === 'greater'
    ? `That ${names.stronger} is stronger in ${names.attribute} than ${names.weaker}`
    : `Any difference in ${names.attribute}`;
}

// So few by luck that serving or direction is the likelier reason. Our own bound; no source.
const SUSPICIOUSLY_FEW = 0.05;

/** Far fewer right than guessing gives is no proof of similarity but a reason to look. */
function fewSentence({ test, stronger }: ChoiceFigures): string {
  if (test.side === 'two-sided') return '';
  if (lowerTail(test.counted, test.answers, test.guessRate) > SUSPICIOUSLY_FEW) return '';
  const turned = stronger ? ', or for a difference the other way round' : '';
  return ` Far fewer were right than guessing gives: look for mistakes in labels or serving${turned}.`;
}
