import type { TriangleResult } from '../contracts/result.ts';
import { capital, inWords, pEquals, percent, plain, timesIn } from './words.ts';

type Figures = Omit<TriangleResult, 'finding' | 'caveats' | 'methods'>;

/**
 * The finding in sentences. 'Not significant' is never written as 'the same', and no verdict stands
 * without its uncertainty.
 */
export function triangleFinding(result: Figures): TriangleResult['finding'] {
  if (result.test.answers === 0) {
    return {
      verdict: 'no-data',
      headline: 'Nobody answered, so nothing can be said.',
      lede: 'No ballot came in before the tasting was closed.',
    };
  }
  return result.similarity ? similarityFinding(result, result.similarity) : differenceFinding(result);
}

function differenceFinding(result: Figures): TriangleResult['finding'] {
  const { correct, answers, p, alpha, expectedByGuessing } = result.test;
  const shown = p <= alpha;
  const right = `${capital(inWords(correct))} of ${inWords(answers)}`;
  const people = `${inWords(result.served.assessors)} ${result.served.assessors === 1 ? 'person' : 'people'}`;
  const found = result.replicates
    ? `${right} trays, tasted by ${people}, were told right`
    : `${right} found the odd one`;
  const interval = shareSentence(result);
  if (shown) {
    return {
      verdict: 'difference-shown',
      headline: `${found}. Guessing alone reaches that ${timesIn(p)}.`,
      lede: `The two arms can be told apart by taste (exact one-sided ${pEquals(p)}, alpha fixed beforehand at ${alpha}). ${interval}`,
    };
  }
  const power = result.power.power ?? 0;
  const wanted = percent(result.power.meaningfulShare);
  const low =
    correct < expectedByGuessing
      ? ' Fewer were right than guessing gives: look for mistakes in labels or serving.'
      : '';
  return {
    verdict: 'difference-not-shown',
    headline: `${found}: no difference was demonstrated.`,
    lede:
      `Guessing alone gives ${plain(expectedByGuessing)} on average and reaches ${correct} or more ${timesIn(p)} ` +
      `(exact one-sided ${pEquals(p)}, alpha fixed beforehand at ${alpha}). ${interval} ` +
      `With these answers a difference that ${wanted} can tell would have been found with a chance of ${percent(power)}.${low}`,
  };
}

function shareSentence({ share }: Figures): string {
  if (!share) return '';
  const lower = Math.max(0, share.lower);
  const range =
    lower === 0
      ? `Up to ${percent(share.upper)} of people like these assessors may be able to tell`
      : `Between ${percent(lower)} and ${percent(share.upper)} of people like these assessors would be able to tell`;
  return `${range} (${percent(share.level)} interval).`;
}

function similarityFinding(
  result: Figures,
  { correct, answers, p, beta, meaningfulShare, upperShare }: NonNullable<TriangleResult['similarity']>,
): TriangleResult['finding'] {
  const right = `${capital(inWords(correct))} of ${inWords(answers)} found the odd one`;
  const limit = percent(meaningfulShare);
  const once = result.replicates ? ' One answer per person counts here: the first tray each answered.' : '';
  if (p <= beta) {
    return {
      verdict: 'similarity-shown',
      headline: `${right}: at most ${percent(Math.max(0, upperShare))} of people like these can tell.`,
      lede:
        `Any difference is perceptible to at most ${percent(Math.max(0, upperShare))} of comparable assessors, below the limit of ` +
        `${limit} fixed beforehand (exact ${pEquals(p)}, risk of a wrong claim ${beta}).${once}`,
    };
  }
  return {
    verdict: 'similarity-not-shown',
    headline: `${right}: similarity was not demonstrated.`,
    lede:
      `Up to ${percent(Math.max(0, upperShare))} of comparable assessors may be able to tell; the limit fixed beforehand was ${limit} ` +
      `(exact ${pEquals(p)}, needed ${beta} or less). This does not show that the arms differ.${once}`,
  };
}
